package formula

import (
	"math"
	"strings"

	"dropcut/plan/unit"
)

// call computes a function whose name and opening bracket have been read.
func (p *parser) call(name string) Value {
	var args []Value
	for !p.take(")") {
		if len(args) > 0 {
			p.want(",")
		}
		args = append(args, p.compare())
		if p.err != nil {
			return fault("#NAME?")
		}
	}
	n := len(args)
	if least, most := arity(name); n < least || n > most {
		return p.fail(name + " is not known with so many values")
	}
	one := func(i int) Value { return p.scalar(args[i]) }
	switch name {
	case "IF":
		c := one(0)
		switch {
		case c.Kind == Error:
			return c
		case c.Kind == Text:
			return fault("#VALUE!")
		case c.Num != 0:
			return one(1)
		case n == 3:
			return one(2)
		}
		return Truth(false)
	case "AND", "OR":
		all, any := true, false
		for i := range args {
			v := one(i)
			switch v.Kind {
			case Error:
				return v
			case Text:
				return fault("#VALUE!")
			}
			all, any = all && v.Num != 0, any || v.Num != 0
		}
		return Truth(name == "AND" && all || name == "OR" && any)
	case "ISNUMBER":
		return Truth(one(0).Kind == Number)
	case "MAX", "MIN":
		return p.extreme(name == "MAX", args)
	case "ABS", "INT":
		return with(func(x []float64) Value {
			if name == "INT" {
				return Num(math.Floor(x[0]))
			}
			return Num(math.Abs(x[0]))
		}, one(0))
	case "ROUND", "ROUNDUP":
		return with(func(x []float64) Value { return Num(rounded(x[0], x[1], name == "ROUNDUP")) }, one(0), one(1))
	case "GCD":
		return with(gcd, one(0), one(1))
	case "INDEX":
		return p.index(args[0], one(1))
	case "MATCH":
		return p.match(one(0), args[1], one(2))
	case "TEXT":
		v, form := one(0), one(1)
		if v.Kind == Error || v.Kind == Text {
			return v
		}
		return Str(fixed(v.Num, form.Text))
	}
	return p.fail("the function " + name + " is not known")
}

// arity gives the least and the greatest number of values that a function takes.
func arity(name string) (least, most int) {
	switch name {
	case "IF":
		return 2, 3
	case "AND", "OR", "MAX", "MIN":
		return 1, 255
	case "ISNUMBER", "ABS", "INT":
		return 1, 1
	case "ROUND", "ROUNDUP", "GCD", "INDEX", "TEXT":
		return 2, 2
	case "MATCH":
		return 3, 3
	}
	return 1, 0
}

// with calls a function of numbers.
func with(f func([]float64) Value, list ...Value) Value {
	x := make([]float64, len(list))
	for i, v := range list {
		switch v.Kind {
		case Error:
			return v
		case Text:
			return fault("#VALUE!")
		}
		x[i] = v.Num
	}
	return f(x)
}

// extreme gives the largest or smallest of numbers. In cells that are referred
// to, texts and blanks do not count.
func (p *parser) extreme(largest bool, args []Value) Value {
	best, any := 0.0, false
	for _, a := range args {
		v := p.scalar(a)
		switch {
		case v.Kind == Error:
			return v
		case a.Kind == Range && v.Kind != Number:
			continue
		case v.Kind == Text:
			return fault("#VALUE!")
		}
		if !any || largest == (v.Num > best) {
			best, any = v.Num, true
		}
	}
	return Num(best)
}

// rounded rounds halves away from zero, or up away from zero altogether.
func rounded(x, digits float64, up bool) float64 {
	ten := math.Pow(10, math.Trunc(digits))
	y := x * ten
	if up {
		// What is a whole number but for the last bits is one.
		near := math.Round(y)
		if math.Abs(y-near) <= 1e-14*math.Abs(y) {
			return near / ten
		}
		if y < 0 {
			return math.Floor(y) / ten
		}
		return math.Ceil(y) / ten
	}
	return math.Round(y) / ten
}

func gcd(x []float64) Value {
	a, b := math.Trunc(x[0]), math.Trunc(x[1])
	if !(a >= 0 && b >= 0 && a < 1<<53 && b < 1<<53) {
		return fault("#NUM!")
	}
	for b != 0 {
		a, b = b, math.Mod(a, b)
	}
	return Num(a)
}

func (p *parser) index(r, row Value) Value {
	switch {
	case row.Kind == Error:
		return row
	case r.Kind != Range || r.col != r.col2 || row.Kind != Number:
		return fault("#VALUE!")
	}
	n := int(row.Num)
	if n < 1 || n > r.row2-r.row+1 {
		return fault("#REF!")
	}
	return p.cells(r.sheet, r.col, r.row+n-1)
}

// match finds the last row of a rising column whose number is not above a number.
func (p *parser) match(what, r, how Value) Value {
	switch {
	case what.Kind == Error:
		return what
	case what.Kind != Number || r.Kind != Range || r.col != r.col2 || how.Num != 1:
		return fault("#N/A")
	}
	lo, hi := r.row, r.row2+1 // the first row above lies in [lo, hi]
	for lo < hi {
		mid := (lo + hi) / 2
		if p.cells(r.sheet, r.col, mid).Num > what.Num {
			hi = mid
		} else {
			lo = mid + 1
		}
	}
	if lo == r.row {
		return fault("#N/A")
	}
	return Num(float64(lo - r.row))
}

// fixed prints a number in the form 0 or 0.00, halves away from zero.
func fixed(v float64, form string) string {
	_, digits, _ := strings.Cut(form, ".")
	return unit.DecimalText(v, len(digits), unit.Nearest)
}
