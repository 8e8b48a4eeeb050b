// Package formula computes the formulas that dropcut writes into job workbooks,
// so that each cell carries the value that its formula gives before any office
// program has computed it, and so that the formulas themselves can be held
// against the plan.
//
// It knows the operators, and of the functions those that every office program
// has, on phones too: ABS, AND, GCD, IF, INDEX (of a column), INT, ISNUMBER,
// MATCH (of a rising column), MAX, MIN, OR, ROUND, ROUNDUP, TEXT (with fixed
// decimals). They mean what ISO/IEC 26300-4 (OpenFormula) says.
package formula

import (
	"fmt"
	"strconv"
	"strings"
)

// Kind says what a Value is.
type Kind uint8

// The kinds of values.
const (
	Blank Kind = iota
	Number
	Text
	Bool
	Error
	Range
)

// Value is what a cell holds or a formula gives. The Text of an Error is its
// word, "#N/A".
type Value struct {
	Kind Kind
	Num  float64
	Text string
	// The corners of a Range.
	sheet                string
	col, row, col2, row2 int
}

// Num, Str and Truth make values.
func Num(v float64) Value { return Value{Kind: Number, Num: v} }

// Str makes a text.
func Str(s string) Value { return Value{Kind: Text, Text: s} }

// Truth makes a truth value.
func Truth(b bool) Value {
	v := Value{Kind: Bool}
	if b {
		v.Num = 1
	}
	return v
}

func fault(word string) Value { return Value{Kind: Error, Text: word} }

// Cells gives what stands in a cell. sheet is "" for the formula's own one.
type Cells func(sheet string, col, row int) Value

// Eval computes a formula, written without the equals sign. An error is a formula
// that cannot be read; a faulty value, as of a division by zero, is a Value.
func Eval(text string, cells Cells) (Value, error) {
	p := &parser{s: text, cells: cells}
	v := p.scalar(p.compare())
	p.blanks()
	if p.i < len(p.s) {
		p.fail("nothing more expected")
	}
	return v, p.err
}

// fail notes the first thing that is wrong with the text and ends the reading.
func (p *parser) fail(what string) Value {
	if p.err == nil {
		p.err = fmt.Errorf("formula %q: %s at %d", p.s, what, p.i)
	}
	p.i = len(p.s)
	return fault("#NAME?")
}

type parser struct {
	s     string
	i     int
	deep  int
	err   error
	cells Cells
}

func (p *parser) blanks() {
	for p.i < len(p.s) && p.s[p.i] == ' ' {
		p.i++
	}
}

// take reads a token if it comes next.
func (p *parser) take(tok string) bool {
	p.blanks()
	if strings.HasPrefix(p.s[p.i:], tok) {
		p.i += len(tok)
		return true
	}
	return false
}

func (p *parser) want(tok string) {
	if !p.take(tok) {
		p.fail(tok + " expected")
	}
}

// deepest is how deep brackets may stand in one another.
const deepest = 64

func (p *parser) compare() Value {
	if p.deep++; p.deep > deepest {
		return p.fail("too many brackets")
	}
	a := p.compared()
	p.deep--
	return a
}

func (p *parser) compared() Value {
	a := p.concat()
	for {
		op := ""
		if p.blanks(); p.i >= len(p.s) || p.s[p.i] != '<' && p.s[p.i] != '>' && p.s[p.i] != '=' {
			return a
		}
		for _, o := range [...]string{"<=", ">=", "<>", "<", ">", "="} {
			if p.take(o) {
				op = o
				break
			}
		}
		a = compared(op, p.scalar(a), p.scalar(p.concat()))
	}
}

func compared(op string, a, b Value) Value {
	switch {
	case a.Kind == Error:
		return a
	case b.Kind == Error:
		return b
	}
	a, b = alike(a, b), alike(b, a)
	c := 0
	switch {
	case rank(a) != rank(b):
		c = rank(a) - rank(b)
	case a.Kind == Text:
		c = strings.Compare(strings.ToLower(a.Text), strings.ToLower(b.Text))
	case a.Num < b.Num:
		c = -1
	case a.Num > b.Num:
		c = 1
	}
	switch op {
	case "<":
		return Truth(c < 0)
	case "<=":
		return Truth(c <= 0)
	case ">":
		return Truth(c > 0)
	case ">=":
		return Truth(c >= 0)
	case "<>":
		return Truth(c != 0)
	}
	return Truth(c == 0)
}

// alike turns a blank cell into what it is compared with.
func alike(a, b Value) Value {
	if a.Kind != Blank {
		return a
	}
	if b.Kind == Text {
		return Str("")
	}
	return Num(0)
}

// rank orders the kinds: numbers before texts before truths.
func rank(v Value) int {
	switch v.Kind {
	case Text:
		return 1
	case Bool:
		return 2
	}
	return 0
}

func (p *parser) concat() Value {
	a := p.sum()
	for p.take("&") {
		a = joined(p.scalar(a), p.scalar(p.sum()))
	}
	return a
}

func joined(a, b Value) Value {
	switch {
	case a.Kind == Error:
		return a
	case b.Kind == Error:
		return b
	}
	return Str(AsText(a) + AsText(b))
}

// AsText gives a value as it is joined to a text.
func AsText(v Value) string {
	switch v.Kind {
	case Number:
		return strconv.FormatFloat(v.Num, 'G', 15, 64)
	case Bool:
		if v.Num != 0 {
			return "TRUE"
		}
		return "FALSE"
	}
	return v.Text
}

func (p *parser) sum() Value {
	a := p.product()
	for {
		switch {
		case p.take("+"):
			a = arith('+', p.scalar(a), p.scalar(p.product()))
		case p.take("-"):
			a = arith('-', p.scalar(a), p.scalar(p.product()))
		default:
			return a
		}
	}
}

func (p *parser) product() Value {
	a := p.unary()
	for {
		switch {
		case p.take("*"):
			a = arith('*', p.scalar(a), p.scalar(p.unary()))
		case p.take("/"):
			a = arith('/', p.scalar(a), p.scalar(p.unary()))
		default:
			return a
		}
	}
}

func arith(op byte, a, b Value) Value {
	for _, v := range [...]Value{a, b} {
		switch v.Kind {
		case Error:
			return v
		case Text:
			return fault("#VALUE!")
		}
	}
	switch op {
	case '+':
		return Num(a.Num + b.Num)
	case '-':
		return Num(a.Num - b.Num)
	case '*':
		return Num(a.Num * b.Num)
	}
	if b.Num == 0 {
		return fault("#DIV/0!")
	}
	return Num(a.Num / b.Num)
}

func (p *parser) unary() Value {
	minus := false
	for p.take("-") {
		minus = !minus
	}
	v := p.primary()
	if minus {
		return arith('-', Num(0), p.scalar(v))
	}
	return v
}

func (p *parser) primary() Value {
	p.blanks()
	if p.i >= len(p.s) {
		return p.fail("a value expected")
	}
	switch c := p.s[p.i]; {
	case c == '(':
		p.i++
		v := p.compare()
		p.want(")")
		return v
	case c == '"':
		return Str(p.quoted('"'))
	case c == '\'':
		sheet := p.quoted('\'')
		p.want("!")
		return p.reference(sheet)
	case c >= '0' && c <= '9' || c == '.':
		return p.number()
	}
	from := p.i
	for p.i < len(p.s) && (p.s[p.i] >= 'A' && p.s[p.i] <= 'Z' || p.s[p.i] >= 'a' && p.s[p.i] <= 'z') {
		p.i++
	}
	if word := p.s[from:p.i]; word != "" && p.i < len(p.s) && p.s[p.i] == '(' {
		p.i++
		return p.call(word)
	}
	p.i = from
	return p.reference("")
}

func (p *parser) quoted(q byte) string {
	var b strings.Builder
	for p.i++; p.i < len(p.s); p.i++ {
		if p.s[p.i] == q {
			if p.i+1 < len(p.s) && p.s[p.i+1] == q {
				p.i++
			} else {
				p.i++
				return b.String()
			}
		}
		b.WriteByte(p.s[p.i])
	}
	p.fail("the quotation has no end")
	return ""
}

func (p *parser) number() Value {
	from := p.i
	for p.i < len(p.s) {
		c := p.s[p.i]
		exp := (c == '+' || c == '-') && p.i > from && (p.s[p.i-1] == 'E' || p.s[p.i-1] == 'e')
		if c >= '0' && c <= '9' || c == '.' || c == 'E' || c == 'e' || exp {
			p.i++
			continue
		}
		break
	}
	v, err := strconv.ParseFloat(p.s[from:p.i], 64)
	if err != nil {
		return p.fail("no number")
	}
	return Num(v)
}

// reference reads A1, $A$1 or a range of them.
func (p *parser) reference(sheet string) Value {
	v := Value{Kind: Range, sheet: sheet}
	v.col, v.row = p.address()
	v.col2, v.row2 = v.col, v.row
	if p.i < len(p.s) && p.s[p.i] == ':' {
		p.i++
		v.col2, v.row2 = p.address()
	}
	return v
}

func (p *parser) address() (col, row int) {
	skip := func() {
		if p.i < len(p.s) && p.s[p.i] == '$' {
			p.i++
		}
	}
	skip()
	for p.i < len(p.s) && p.s[p.i] >= 'A' && p.s[p.i] <= 'Z' && col < 20000 {
		col = col*26 + int(p.s[p.i]-'A') + 1
		p.i++
	}
	skip()
	for p.i < len(p.s) && p.s[p.i] >= '0' && p.s[p.i] <= '9' && row < 2_000_000 {
		row = row*10 + int(p.s[p.i]-'0')
		p.i++
	}
	if col < 1 || col > 16384 || row < 1 || row > 1_048_576 {
		p.fail("a cell expected")
		return 1, 1
	}
	return col, row
}

// scalar gives the value of a cell, and of everything else itself.
func (p *parser) scalar(v Value) Value {
	if v.Kind != Range {
		return v
	}
	if v.col != v.col2 || v.row != v.row2 {
		return fault("#VALUE!")
	}
	return p.cells(v.sheet, v.col, v.row)
}
