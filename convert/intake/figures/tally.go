package figures

import "dropcut/plan/unit"

// Tally keeps what settles the decimal sign of one column of one chart.
type Tally struct {
	Vote  unit.DecimalVote
	forms []unit.Form // of each row whose number is a text
	// The rows by their form, filled by list for the few charts that need them.
	point, comma []int32 // rows whose one sign may be either
	wrote        []int32 // rows that prove a comma
	wrotePoint   []int32 // rows that prove a point with decimals behind it
}

// list sorts the rows by the form of their text.
func (t *Tally) list() {
	for i, f := range t.forms {
		n := int32(i)
		switch f {
		case unit.FormEitherPoint:
			t.point = append(t.point, n)
		case unit.FormEitherComma:
			t.comma = append(t.comma, n)
		case unit.FormComma:
			t.wrote = append(t.wrote, n)
		case unit.FormPoint:
			t.wrotePoint = append(t.wrotePoint, n)
		}
	}
}

// Count notes the form of a text that is a number, in row n of its chart.
func (t *Tally) Count(form unit.Form, n int32) {
	switch form {
	case unit.FormWhole:
		t.Vote.Whole++
	case unit.FormPoint:
		t.Vote.Point++
	case unit.FormComma:
		t.Vote.Comma++
	case unit.FormEitherPoint:
		t.Vote.EitherPoint++
	case unit.FormEitherComma:
		t.Vote.EitherComma++
	}
	if int(n) == len(t.forms) {
		t.forms = append(t.forms, form)
		return
	}
	for len(t.forms) <= int(n) {
		t.forms = append(t.forms, 0)
	}
	t.forms[n] = form
}

func (t *Tally) Append(o *Tally, n int32) {
	t.Vote.Merge(o.Vote)
	for len(t.forms) < int(n) {
		t.forms = append(t.forms, 0)
	}
	t.forms = append(t.forms[:n], o.forms...)
}
