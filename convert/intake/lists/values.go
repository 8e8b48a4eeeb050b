package lists

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"dropcut/convert/grid"
	"dropcut/convert/intake/headword"
	"dropcut/convert/intake/sheetkind"
	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// values reads the cells of one list. What is settled for a whole column (the
// decimal sign, the order of day and month) is settled before the first cell is
// read.
type values struct {
	at     cell.Ref // file and sheet
	dec    map[int]unit.Decimal
	unsure map[int]bool // columns whose decimal sign nothing proves
	order  map[int]unit.DateOrder
	// date1904 says that the book counts its days from 1904 on.
	date1904 bool
	// The units that the titles above the list name for all of its columns.
	length     unit.LengthUnit
	volume     unit.VolumeUnit
	lengthFrom cell.Ref
	volumeFrom cell.Ref
}

// misread is why a cell could not be read. The zero misread is none.
type misread struct {
	slug       finding.Slug
	expected   string
	why        string
	suggestion string
}

func (t misread) bad() bool { return t.slug != "" }

// settle looks at all rows of a list before any is read.
func settle(at cell.Ref, h *sheetkind.Head, hd *sheetkind.Header, rows []sheetkind.Row) *values {
	v := &values{at: at, date1904: h.Date1904, dec: map[int]unit.Decimal{}, unsure: map[int]bool{}, order: map[int]unit.DateOrder{}}
	var all unit.DecimalVote
	votes := map[int]*unit.DecimalVote{}
	for i := range hd.Cols {
		c := &hd.Cols[i]
		if !c.Known {
			continue
		}
		switch c.Field.Kind {
		case headword.KindLength, headword.KindVolume, headword.KindPercent, headword.KindAngle, headword.KindPressure:
			vote := &unit.DecimalVote{}
			for j := range rows {
				if x := rows[j].At(c.Col); x != nil && x.Kind == grid.Text {
					vote.AddString(x.Text)
				}
			}
			votes[c.Col] = vote
			all.Merge(*vote)
		case headword.KindDate:
			v.order[c.Col] = dateOrder(rows, c.Col)
		}
	}
	for col, vote := range votes {
		dec, sure := vote.Result()
		if sure == unit.Undecided {
			// The other columns were typed by the same hands.
			dec, sure = all.Result()
		}
		v.dec[col] = dec
		v.unsure[col] = sure == unit.Undecided
	}
	for i := range h.Rows {
		r := &h.Rows[i]
		if r.N >= hd.First {
			break
		}
		for _, c := range r.Cells {
			if c.Kind != grid.Text {
				continue
			}
			ref := cell.Ref{File: at.File, Sheet: at.Sheet, Col: c.Col, Row: r.N}
			if u, _, n := unit.FindLengthUnit(c.Text); n == 1 && v.length == 0 {
				v.length, v.lengthFrom = u, ref
			}
			if u, _, n := unit.FindVolumeUnit(c.Text); n == 1 && v.volume == 0 {
				v.volume, v.volumeFrom = u, ref
			}
		}
	}
	return v
}

// dateOrder settles which number of 3/4/2026 is the month from the cells of a
// column that can be read one way only.
func dateOrder(rows []sheetkind.Row, col int) unit.DateOrder {
	month, day := 0, 0
	for i := range rows {
		c := rows[i].At(col)
		if c == nil || c.Kind != grid.Text || !strings.Contains(c.Text, "/") && !strings.Contains(c.Text, "-") {
			continue
		}
		_, merr := unit.ParseDate(c.Text, unit.MonthFirst)
		_, derr := unit.ParseDate(c.Text, unit.DayFirst)
		switch {
		case merr == nil && derr != nil:
			month++
		case derr == nil && merr != nil:
			day++
		}
	}
	switch {
	case month > 0 && day == 0:
		return unit.MonthFirst
	case day > 0 && month == 0:
		return unit.DayFirst
	}
	return unit.DateOrderUnknown
}

// blankWords are what people write into a cell that they leave empty.
var blankWords = map[string]bool{
	"-": true, "--": true, "---": true, "–": true, "—": true, "?": true, "??": true, ".": true, "n/a": true, "na": true, "n.a.": true, "n/m": true, "tbd": true, "tba": true,
	"unknown": true, "none": true, "not measured": true, "not known": true, "to measure": true, "to be measured": true, "not given": true, "pending": true, "x": true,
	"s/d": true, "desconocido": true, "sin medir": true, "pendiente": true, "inconnu": true, "non mesure": true, "a mesurer": true, "k.a.": true, "unbekannt": true, "nicht gemessen": true, "offen": true,
}

// empty reports whether a cell is left blank, in so many words. A word such as
// "none" is an answer where words are expected.
func empty(c *sheetkind.Cell, k headword.Kind) bool {
	if c.Blank() {
		return true
	}
	switch k {
	case headword.KindText, headword.KindWord, headword.KindLengthUnit, headword.KindVolumeUnit:
		s := strings.TrimFunc(c.Text, headword.IsBlank)
		return !c.Formula && (s == "-" || s == "–" || s == "—" || s == "?")
	}
	return c.Kind == grid.Text && blankWords[unit.Fold(c.Text)]
}

// crossed reports whether a cell was crossed out, as some people leave a figure
// open and others tick it.
func crossed(c *sheetkind.Cell) bool {
	return c != nil && c.Kind == grid.Text && unit.Fold(c.Text) == "x"
}

func (v *values) ref(c *sheetkind.Cell) cell.Ref {
	return cell.Ref{File: v.at.File, Sheet: v.at.Sheet, Col: c.Col, Row: c.At}
}

// sound tells cells that hold no value at all: errors and formulas whose result
// was not stored.
func sound(c *sheetkind.Cell) misread {
	switch {
	case c.Kind == grid.Error:
		return misread{slug: finding.ErrorValue, expected: "a value", why: "the cell holds an error", suggestion: "correct the formula or type the value"}
	case c.Kind == grid.Blank && c.Formula:
		return misread{slug: finding.FormulaWithoutValue, expected: "the formula's result", why: "the file holds the formula and not its result", suggestion: "open the book in a spreadsheet program, let it calculate and save it"}
	}
	return misread{}
}

func (v *values) unreadable(want, why, suggestion string) misread {
	return misread{slug: finding.ValueUnreadable, expected: want, why: why, suggestion: suggestion}
}

// fromError makes a misread of what plan/unit says of a text.
func (v *values) fromError(err error, example string) misread {
	t := misread{slug: finding.ValueUnreadable, why: err.Error(), suggestion: "write it as in " + example}
	var u *unit.Trouble
	if errors.As(err, &u) {
		t.expected, t.why = u.Want, u.Why
	}
	if errors.Is(err, unit.ErrNoUnit) {
		t.slug = finding.UnitsUnknown
		t.suggestion = "write the unit into the column's heading or into the cell"
	}
	return t
}

// The volumes between which a tank lies, for telling 1.238 from 1,238 where
// nothing else does: 50 gal to 5 million (common practice, no source).
const (
	leastVolume = unit.Volume(50)
	mostVolume  = unit.Volume(5e6)
)

// sizes gives the lengths between which a field lies, for the same purpose
// (common practice, no source). A thin plate in millimetres stays open.
func sizes(f headword.Field) (least, most unit.Length) {
	switch f {
	case headword.FieldDiameter, headword.FieldLength, headword.FieldWidth, headword.FieldFaceToBottom:
		return unit.Foot, 40 * unit.Metre
	case headword.FieldRiserHeight, headword.FieldAsFoundUpper, headword.FieldAlarmDepth:
		return unit.Inch, 40 * unit.Metre
	case headword.FieldFillStation, headword.FieldDipStation, headword.FieldFreeArm:
		return unit.Inch / 4, 40 * unit.Metre
	}
	return unit.Inch / 64, 100 * unit.Inch
}

// lengthIn reads a cell as a length. fallback is the unit that the row itself
// names for its lengths, LengthUnknown for none.
func (v *values) lengthIn(c *sheetkind.Cell, col *sheetkind.Column, fallback unit.LengthUnit) (cell.Of[unit.Length], misread) {
	none := cell.Of[unit.Length]{}
	if t := sound(c); t.bad() {
		return none, t
	}
	in := col.Length
	if in == 0 {
		in = v.length
	}
	if in == 0 {
		in = fallback
	}
	l, t := v.readLength(c, col, in)
	if t.bad() {
		return none, t
	}
	if math.IsNaN(float64(l)) || math.IsInf(float64(l), 0) || l < 0 {
		return none, v.unreadable("a length of 0 or more", "a length cannot be negative", "measure again")
	}
	return cell.Of[unit.Length]{V: l, Raw: c.Text, At: v.ref(c)}, misread{}
}

func (v *values) readLength(c *sheetkind.Cell, col *sheetkind.Column, in unit.LengthUnit) (unit.Length, misread) {
	switch c.Kind {
	case grid.Number:
		if c.Format == grid.DateFormat {
			return 0, v.dateForLength(c)
		}
		if in == 0 {
			return 0, v.fromError(fmt.Errorf("%w", unit.ErrNoUnit), `98 3/8"`)
		}
		return in.Length(c.Num), misread{}
	case grid.Text:
		dec := v.dec[col.Col]
		if v.unsure[col.Col] {
			var t misread
			least, most := sizes(col.Field.Field)
			if dec, t = v.signBySize(c.Text, func(d unit.Decimal) (float64, error) {
				l, err := unit.ParseLength(c.Text, in, d)
				return float64(l), err
			}, float64(least), float64(most)); t.bad() {
				return 0, t
			}
		}
		l, err := unit.ParseLength(c.Text, in, dec)
		if err != nil {
			t := v.fromError(err, `98 3/8"`)
			if t.slug == finding.UnitsUnknown {
				t.expected, t.why = "a length with its unit", "neither the cell nor its heading nor a title names one"
			}
			return 0, t
		}
		return l, misread{}
	}
	return 0, v.unreadable("a length", "the cell holds no number", `write it as in 98 3/8"`)
}

// dateForLength explains a date where a length belongs: a spreadsheet program
// turns a typed 3/8 into one.
func (v *values) dateForLength(c *sheetkind.Cell) misread {
	t := v.unreadable("a length", "the cell is formatted as a date; spreadsheet programs make a date of a typed fraction", "type the length again, as in 0 3/8, into a cell formatted as text or as a fraction")
	if day, ok := unit.SerialDate(c.Num, v.date1904); ok {
		t.why = fmt.Sprintf("the cell is formatted as a date, %s; spreadsheet programs make a date of a typed fraction such as %d/%d", day.Format("2006-01-02"), int(day.Month()), day.Day())
	}
	return t
}

// signBySize settles the decimal sign of a text such as 1.238 by the only
// reading that can be the size of a tank; two that can be leave it open.
func (v *values) signBySize(text string, read func(unit.Decimal) (float64, error), least, most float64) (unit.Decimal, misread) {
	switch unit.FormOf(text) {
	case unit.FormEitherPoint, unit.FormEitherComma:
	default:
		return unit.DecimalPoint, misread{}
	}
	point, perr := read(unit.DecimalPoint)
	comma, cerr := read(unit.DecimalComma)
	if perr != nil || cerr != nil {
		return unit.DecimalPoint, misread{} // said by the reading itself
	}
	pok, cok := point >= least && point <= most, comma >= least && comma <= most
	switch {
	case pok && !cok:
		return unit.DecimalPoint, misread{}
	case cok && !pok:
		return unit.DecimalComma, misread{}
	}
	return unit.DecimalPoint, v.unreadable("a number whose decimal sign is clear", "its comma or point may part decimals or thousands, and no cell of the list tells which", "write it without a mark for thousands, or with two decimals")
}

func (v *values) volumeIn(c *sheetkind.Cell, col *sheetkind.Column, fallback unit.VolumeUnit) (cell.Of[unit.Volume], misread) {
	none := cell.Of[unit.Volume]{}
	if t := sound(c); t.bad() {
		return none, t
	}
	in := col.Volume
	if in == 0 {
		in = v.volume
	}
	if in == 0 {
		in = fallback
	}
	var vol unit.Volume
	switch c.Kind {
	case grid.Number:
		if c.Format == grid.DateFormat {
			return none, v.unreadable("a volume", "the cell is formatted as a date", "type the volume again")
		}
		if in == 0 {
			return none, v.fromError(fmt.Errorf("%w", unit.ErrNoUnit), "10000 gal")
		}
		vol = in.Volume(c.Num)
	case grid.Text:
		dec := v.dec[col.Col]
		if v.unsure[col.Col] {
			var t misread
			if dec, t = v.signBySize(c.Text, func(d unit.Decimal) (float64, error) {
				x, err := unit.ParseVolume(c.Text, in, d)
				return float64(x), err
			}, float64(leastVolume), float64(mostVolume)); t.bad() {
				return none, t
			}
		}
		var err error
		if vol, err = unit.ParseVolume(c.Text, in, dec); err != nil {
			return none, v.fromError(err, "10000 gal")
		}
	default:
		return none, v.unreadable("a volume", "the cell holds no number", "write it as in 10000 gal")
	}
	if !(vol > 0) || math.IsInf(float64(vol), 0) {
		return none, v.unreadable("a volume above 0", "no tank holds that", "correct the cell")
	}
	return cell.Of[unit.Volume]{V: vol, Raw: c.Text, At: v.ref(c)}, misread{}
}

// percentIn reads a percentage. assumed says why another number than the written
// one was taken, "" where it was not.
func (v *values) percentIn(c *sheetkind.Cell, col *sheetkind.Column) (p cell.Of[unit.Percent], assumed string, t misread) {
	if t := sound(c); t.bad() {
		return p, "", t
	}
	var x unit.Percent
	switch c.Kind {
	case grid.Number, grid.Text:
		if c.Format == grid.DateFormat {
			return p, "", v.unreadable("a percentage", "the cell is formatted as a date", "type the percentage again")
		}
		var err error
		dec := v.dec[col.Col]
		if c.Kind == grid.Number {
			dec = unit.DecimalPoint
		}
		if x, err = unit.ParsePercent(c.Text, c.Format == grid.PercentFormat, dec); err != nil {
			return p, "", v.fromError(err, "95")
		}
		if x > 0 && x <= 1 && c.Format != grid.PercentFormat && !strings.ContainsAny(c.Text, "%٪％") {
			share, err := unit.ParsePercent(c.Text, true, dec)
			if err != nil {
				return p, "", v.fromError(err, "95")
			}
			x, assumed = share, "no tank is limited to 1 % or less, so that the number is a share of the tank"
		}
	default:
		return p, "", v.unreadable("a percentage", "the cell holds no number", "write it as in 95")
	}
	if !(x > 0 && x <= 100) {
		return p, "", v.unreadable("a percentage above 0 and up to 100", "no tank can be filled to that", "correct the cell")
	}
	return cell.Of[unit.Percent]{V: x, Raw: c.Text, At: v.ref(c)}, assumed, misread{}
}

// dateIn reads a date. A year alone is taken for its last day where late is the
// strict reading, else for its first.
func (v *values) dateIn(c *sheetkind.Cell, col *sheetkind.Column, late bool) (d cell.Of[time.Time], assumed string, t misread) {
	if t := sound(c); t.bad() {
		return d, "", t
	}
	year := func(n float64) (time.Time, bool) {
		if n != math.Trunc(n) || n < 1900 || n > 2199 {
			return time.Time{}, false
		}
		if late {
			return time.Date(int(n), 12, 31, 0, 0, 0, 0, time.UTC), true
		}
		return time.Date(int(n), 1, 1, 0, 0, 0, 0, time.UTC), true
	}
	const yearAlone = "the year alone is given; the day of it that makes the rule stricter was taken"
	switch c.Kind {
	case grid.Number:
		if c.Format == grid.DateFormat {
			if day, ok := unit.SerialDate(c.Num, v.date1904); ok {
				return cell.Of[time.Time]{V: day, Raw: c.Text, At: v.ref(c)}, "", misread{}
			}
			return d, "", v.unreadable("a date", "the number behind the date is none that a date can have", "type the date again, as in 2026-04-03")
		}
		if y, ok := year(c.Num); ok {
			return cell.Of[time.Time]{V: y, Raw: c.Text, At: v.ref(c)}, yearAlone, misread{}
		}
		t := v.unreadable("a date", "the cell holds a plain number", "format the cell as a date, or write it as in 2026-04-03")
		if day, ok := unit.SerialDate(c.Num, v.date1904); ok && c.Num > 10000 {
			t.why = "the cell holds a plain number, which as a date would be " + day.Format("2006-01-02")
		}
		return d, "", t
	case grid.Text, grid.ISODate:
		s := strings.TrimFunc(c.Text, headword.IsBlank)
		if len(s) == 4 {
			if n, err := unit.ParseNumber(s, unit.DecimalPoint); err == nil {
				if y, ok := year(n); ok {
					return cell.Of[time.Time]{V: y, Raw: c.Text, At: v.ref(c)}, yearAlone, misread{}
				}
			}
		}
		day, err := unit.ParseDate(s, v.order[col.Col])
		if err != nil {
			return d, "", v.fromError(err, "2026-04-03")
		}
		return cell.Of[time.Time]{V: day, Raw: c.Text, At: v.ref(c)}, "", misread{}
	}
	return d, "", v.unreadable("a date", "the cell holds no date", "write it as in 2026-04-03")
}

func (v *values) angleIn(c *sheetkind.Cell, col *sheetkind.Column) (cell.Of[unit.Angle], misread) {
	if t := sound(c); t.bad() {
		return cell.Of[unit.Angle]{}, t
	}
	if c.Format == grid.DateFormat {
		return cell.Of[unit.Angle]{}, v.unreadable("an angle", "the cell is formatted as a date", "type the angle again")
	}
	a, err := unit.ParseAngle(c.Text, v.decOf(c, col))
	if err != nil {
		return cell.Of[unit.Angle]{}, v.fromError(err, "45")
	}
	if !(a >= 0 && a < 90) {
		return cell.Of[unit.Angle]{}, v.unreadable("an angle from square, from 0 to less than 90 degrees", "a tube cannot be cut at that", "correct the cell")
	}
	return cell.Of[unit.Angle]{V: a, Raw: c.Text, At: v.ref(c)}, misread{}
}

func (v *values) pressureIn(c *sheetkind.Cell, col *sheetkind.Column) (cell.Of[unit.Pressure], misread) {
	none := cell.Of[unit.Pressure]{}
	if t := sound(c); t.bad() {
		return none, t
	}
	if c.Format == grid.DateFormat {
		return none, v.unreadable("a pressure", "the cell is formatted as a date", "type the pressure again")
	}
	in := headingPressure(col.Text)
	p, err := unit.ParsePressure(c.Text, in, v.decOf(c, col))
	if err != nil {
		return none, v.fromError(err, "3 psi")
	}
	if !(p > 0) {
		return none, v.unreadable("a pressure above 0", "nothing is tested at that", "correct the cell")
	}
	return cell.Of[unit.Pressure]{V: p, Raw: c.Text, At: v.ref(c)}, misread{}
}

// decOf gives the decimal sign of a cell: numbers of a workbook are stored with
// a point whatever the sheet shows.
func (v *values) decOf(c *sheetkind.Cell, col *sheetkind.Column) unit.Decimal {
	if c.Kind == grid.Number {
		return unit.DecimalPoint
	}
	return v.dec[col.Col]
}

// headingPressure finds a unit of pressure in brackets or at the end of a
// heading; 0 for none.
func headingPressure(text string) unit.Pressure {
	if open := strings.LastIndexAny(text, "(["); open >= 0 {
		if end := strings.IndexAny(text[open:], ")]"); end > 0 {
			if p, ok := unit.PressureUnit(text[open+1 : open+end]); ok {
				return p
			}
		}
	}
	if words := strings.Fields(text); len(words) > 1 {
		if p, ok := unit.PressureUnit(strings.Trim(words[len(words)-1], ",;")); ok {
			return p
		}
	}
	return 0
}

// headingTorque is headingPressure for torques.
func headingTorque(text string) unit.Torque {
	if open := strings.LastIndexAny(text, "(["); open >= 0 {
		if end := strings.IndexAny(text[open:], ")]"); end > 0 {
			if q, ok := unit.TorqueUnit(text[open+1 : open+end]); ok {
				return q
			}
		}
	}
	if words := strings.Fields(text); len(words) > 1 {
		if q, ok := unit.TorqueUnit(strings.Trim(words[len(words)-1], ",;")); ok {
			return q
		}
	}
	return 0
}

// choice is one answer of a column of words, with the ways to write it. A text
// gives the answer whose longest way stands in it.
type choice[T any] struct {
	v    T
	ways string
}

func Pick[T any](choices []choice[T], text string) (v T, ok bool) {
	text = unit.Fold(text)
	words := " " + strings.Join(strings.FieldsFunc(text, func(r rune) bool { return !('a' <= r && r <= 'z' || '0' <= r && r <= '9') }), " ") + " "
	longest, tie := 0, false
	for i, c := range choices {
		own := 0
		for way := range strings.SplitSeq(c.ways, ",") {
			way = strings.TrimSpace(way)
			if exact, is := strings.CutPrefix(way, "="); is {
				if text == exact {
					return c.v, true
				}
				continue
			}
			if way != "" && strings.Contains(words, " "+way+" ") && len(way) > own {
				own = len(way)
			}
		}
		switch {
		case own > longest:
			longest, tie, v = own, false, choices[i].v
		case own == longest && own > 0:
			tie = true
		}
	}
	return v, longest > 0 && !tie
}

var SealChoices = []choice[plan.Seal]{
	{plan.FaceSealBuiltIn, "built in, builtin, integral, integrated, in device, own seal, incorporado, integrado, incorpore, integre, eingebaut, integriert"},
	{plan.SeparateFaceSeal, "separate, separate face seal, face seal adapter, loose, adapter, adaptor, separado, adaptador, separe, adaptateur, getrennt, separat"},
	{plan.AtNipple, "nipple, at nipple, top of nipple, top of the nipple, riser nipple, no face seal, no seal, niple, boquilla, mamelon, nippel, ohne dichtung"},
}

var EndChoices = []choice[plan.End]{
	{plan.FillEnd, "fill end, fill, near, near end, nearest, fill side, at fill, llenado, remplissage, fullseite, fuellseite, nahe"},
	{plan.OtherEnd, "other end, other, far, far end, opposite, away, opposite fill, away from fill, away from the fill, opposite the fill, opposite of fill, otro, opuesto, lejano, autre, oppose, andere, gegenuber, ferne, anderes ende"},
}

var deliveryChoices = []choice[bool]{
	{false, "gravity, gravity drop, gravity fill, not pressurized, unpressurized, no pressure, without pressure, gravedad, gravite, gravitaire, schwerkraft, freier fall, drucklos, =no, =non, =nein, =0, =false"},
	{true, "pressure, pressurized, pressurised, pumped, pump, under pressure, presion, bomba, bombeo, pression, pompe, druck, gepumpt, pumpe, =yes, =si, =oui, =ja, =1, =true"},
}

var yesNoChoices = []choice[bool]{
	{true, "=y, yes, true, =1, =x, =✓, =✔, fitted, installed, present, in place, si, oui, vorhanden, ja, verdadero, vrai, wahr, =on, enabled"},
	{false, "=n, no, not, not fitted, not installed, not present, none, false, =0, removed, absent, without, non, nein, kein, keine, ninguno, aucun, retirado, falso, faux, falsch, =off, disabled, never fitted, not in place, nicht vorhanden"},
}

func YesNo(s string) (yes, ok bool) { return Pick(yesNoChoices, s) }
