package returned

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"dropcut/convert/jobbook/field"

	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
	"dropcut/validate"
	"dropcut/validate/asbuilt"
)

// entries turns what came back for a tank into typed values. What cannot be one is
// told and left out of all judgement; as a text it is kept.
type entries struct {
	back   *Book
	tank   *Tank
	r      *validate.Result // of the portfolio
	metric bool
	found  []finding.Finding
}

func (e *entries) at(key string) (Entry, bool) {
	v, ok := e.tank.Values[key]
	return v, ok && !v.Blank()
}

func (e *entries) find(slug finding.Slug, sev finding.Severity, at cell.Ref, found, expected, why, do string) {
	e.found = append(e.found, finding.Finding{Slug: slug, Severity: sev, Site: e.r.Tank.Site.Raw, Tank: e.r.Tank.ID.Raw, At: at, Found: found, Expected: expected, Why: why, Suggestion: do})
}

func (e *entries) impossible(f *field.Field, v Entry, want string) {
	e.find(finding.ValueImpossible, finding.Check, v.At, strings.ToLower(f.Label)+": "+v.shown(), want, "it is kept as it stands and counted nowhere", "ask whoever filled in the page")
}

// shown gives an entry as people read it.
func (v Entry) shown() string {
	if v.IsNumber && !v.Date {
		return strconv.FormatFloat(v.Num, 'g', 10, 64)
	}
	if v.Date && v.IsNumber {
		if day, ok := unit.SerialDate(v.Num, false); ok {
			return day.Format(time.DateOnly)
		}
	}
	return strings.Join(strings.Fields(v.Text), " ")
}

// length reads a length field.
func (e *entries) length(f *field.Field) cell.Of[unit.Length] {
	v, ok := e.at(f.Key)
	if !ok {
		return cell.Of[unit.Length]{}
	}
	u, word := unit.Inches, "in"
	if e.metric {
		u, word = unit.Millimetres, "mm"
	}
	l := u.Length(v.Num)
	if !v.IsNumber {
		var err error
		if l, err = unit.ParseLength(v.Text, u, unit.DecimalPoint); err != nil {
			e.impossible(f, v, "a number of "+word)
			return cell.Of[unit.Length]{}
		}
	}
	if float64(l) < f.Least || float64(l) > f.Most {
		e.impossible(f, v, fmt.Sprintf("%s to %s %s", field.Number(u.Number(unit.Length(f.Least))), field.Number(u.Number(unit.Length(f.Most))), word))
		return cell.Of[unit.Length]{}
	}
	return cell.Of[unit.Length]{V: l, Raw: v.shown(), At: v.At}
}

// amount reads a torque, a pressure or a number.
func (e *entries) amount(f *field.Field) (float64, Entry, bool) {
	v, ok := e.at(f.Key)
	if !ok {
		return 0, v, false
	}
	x := v.Num
	if !v.IsNumber {
		var err error
		if x, err = unit.ParseNumber(v.Text, unit.DecimalPoint); err != nil {
			e.impossible(f, v, "a number")
			return 0, v, false
		}
	}
	if x < 0 || f.Most > 0 && x > f.Most {
		e.impossible(f, v, "0 to "+field.Number(f.Most))
		return 0, v, false
	}
	return x, v, true
}

func (e *entries) yes(f *field.Field) cell.Of[bool] {
	v, ok := e.at(f.Key)
	if !ok {
		return cell.Of[bool]{}
	}
	switch unit.Fold(v.shown()) {
	case "yes", "y", "x", "ok", "true", "1", "done":
		return cell.Of[bool]{V: true, Raw: v.shown(), At: v.At}
	case "no", "n", "false", "0":
		return cell.Of[bool]{Raw: v.shown(), At: v.At}
	}
	e.impossible(f, v, "yes or no")
	return cell.Of[bool]{}
}

func (e *entries) date(f *field.Field) cell.Of[time.Time] {
	v, ok := e.at(f.Key)
	if !ok {
		return cell.Of[time.Time]{}
	}
	if v.IsNumber {
		// Twenty centuries are enough for a drop tube.
		if day, ok := unit.SerialDate(v.Num, e.back.Date1904); ok && day.Year() >= 1950 && day.Year() < 2200 {
			return cell.Of[time.Time]{V: day, Raw: day.Format(time.DateOnly), At: v.At}
		}
	} else if day, err := unit.ParseDate(v.Text, unit.DateOrderUnknown); err == nil {
		return cell.Of[time.Time]{V: day, Raw: v.shown(), At: v.At}
	}
	e.impossible(f, v, "a date, written year-month-day")
	return cell.Of[time.Time]{}
}

func (e *entries) word(key string) cell.Of[string] {
	v, ok := e.at(key)
	if !ok {
		return cell.Of[string]{}
	}
	return cell.Of[string]{V: v.shown(), Raw: v.shown(), At: v.At}
}

// typed reports whether anything was filled in beside the measures that were
// there before.
func (e *entries) typed() bool {
	for key, v := range e.tank.Values {
		if v.Blank() || v.Formula || strings.HasPrefix(key, field.KeyField) {
			continue
		}
		f, measure := field.MeasureOf(key)
		if !measure {
			return true
		}
		old := field.Given(e.r, key)
		now := e.lengthOnly(&f)
		if now.Given() != old.Given() || now.Given() && field.Abs(now.V-old.V) > 1e-6 {
			return true
		}
	}
	return false
}

// lengthOnly reads a length and says nothing.
func (e *entries) lengthOnly(f *field.Field) cell.Of[unit.Length] {
	n := len(e.found)
	l := e.length(f)
	e.found = e.found[:n]
	return l
}

// record makes the record of a cut from the fields.
func (e *entries) record() *asbuilt.Record {
	rec := &asbuilt.Record{At: e.place()}
	list := field.RecordFields()
	var missing []string
	miss := func(f *field.Field) {
		if _, ok := e.at(f.Key); f.Must && !ok {
			missing = append(missing, strings.ToLower(f.Label))
		}
	}
	for i := range list {
		f := &list[i]
		miss(f)
		switch f.Key {
		case field.Upper:
			rec.Upper = e.length(f)
		case field.Lower:
			rec.Lower = e.length(f)
		case field.ShortSide:
			rec.Short = e.length(f)
		case field.Drop:
			rec.Drop = e.length(f)
		case field.Pressure:
			if x, v, ok := e.amount(f); ok {
				rec.Pressure = cell.Of[unit.Pressure]{V: unit.Pressure(x), Raw: v.shown(), At: v.At}
			}
		}
	}
	for _, f := range field.MeasureFields() {
		switch f.Key {
		case field.Riser:
			rec.Riser = e.length(&f)
		case field.Face:
			rec.Face = e.length(&f)
		case field.Diameter:
			rec.Diameter = e.length(&f)
		default:
			e.length(&f) // for what is impossible
		}
	}
	for _, f := range field.TorqueFields(e.r) {
		miss(&f)
		var t cell.Of[unit.Torque]
		if x, v, ok := e.amount(&f); ok {
			t = cell.Of[unit.Torque]{V: unit.Torque(x), Raw: v.shown(), At: v.At}
		}
		rec.Torques = append(rec.Torques, t)
	}
	for _, f := range field.CheckFields() {
		miss(&f)
		rec.Answers = append(rec.Answers, asbuilt.Answer{Question: f.Label, Yes: e.yes(&f)})
	}
	for _, f := range field.SignFields() {
		miss(&f)
	}
	e.sign(rec)
	rec.Missing = missing
	return rec
}

func (e *entries) sign(rec *asbuilt.Record) {
	rec.Done = e.date(&field.Field{Key: field.DoneOn, Label: "Date"})
	rec.Who, rec.License = e.word(field.Who), e.word(field.Licence)
}

// place is where the tank's fields stand.
func (e *entries) place() cell.Ref {
	for _, p := range e.tank.Pages {
		if p.Kind == "record" || p.Kind == "inspection" || p.Kind == "stop" {
			return cell.Ref{File: p.At.File, Sheet: p.At.Sheet}
		}
	}
	return cell.Ref{File: e.back.File}
}

// inspected makes the two records of an inspection: the tube as it was found and
// as it was left.
func (e *entries) inspected(t field.Texts) (found, left *asbuilt.Record) {
	left = &asbuilt.Record{At: e.place(), Inspection: true}
	found = &asbuilt.Record{At: left.At, Inspection: true}
	list := field.FoundFields()
	for i := range list {
		f := &list[i]
		v := e.length(f)
		switch f.Key {
		case field.FoundUpper:
			found.Upper = v
		case field.LeftUpper:
			left.Upper = v
		case field.FoundRiser:
			found.Riser, left.Riser = v, v
		case field.FoundFace:
			found.Face, left.Face = v, v
		}
	}
	for _, f := range field.AnswerFields(t) {
		left.Answers = append(left.Answers, asbuilt.Answer{Question: f.Label, Yes: e.yes(&f)})
	}
	for _, group := range [][]field.Field{field.SiteFields(t), field.TankFields(t), field.FoundFields(), field.AnswerFields(t)} {
		for _, f := range group {
			if _, ok := e.at(f.Key); f.Must && !ok {
				left.Missing = append(left.Missing, strings.ToLower(f.Label))
			}
		}
	}
	e.sign(left)
	return found, left
}
