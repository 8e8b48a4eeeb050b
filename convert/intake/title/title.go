// Package title reads what stands above a table of a chart: the tank's name, the
// units, the inside height.
package title

import (
	"math"
	"strings"

	"dropcut/convert/intake/headword"
	"dropcut/convert/intake/idform"
	"dropcut/convert/intake/look"
	"dropcut/convert/intake/survey"
	"dropcut/plan/cell"
	"dropcut/plan/unit"
)

// Set is what the rows above a table say of it.
type Set struct {
	Names     []Name
	Lengths   []Length
	volumes   []Volume
	Ullage    bool // a title speaks of ullage, and none of depths
	Height    cell.Of[unit.Length]
	HeightBad cell.Ref // a height without a unit, and its number
	HeightNum float64
	Combined  bool
	// Computed says that nobody has measured the chart.
	Computed bool
	none     bool // there are no rows above
}

type Name struct {
	headword.Naming
	Comp string
	At   cell.Ref
	// Lone says that the text is an id and no word says that it is a tank's.
	Lone bool
}

type Length struct {
	Unit unit.LengthUnit
	word bool // it stands beside a word for depths
	At   cell.Ref
}

type Volume struct {
	Unit unit.VolumeUnit
	word bool
	At   cell.Ref
}

// titleReader reads what stands above the tables of one sheet.
type titleReader struct {
	at  cell.Ref
	ids headword.Known // of the tank list
}

// Read reads the rows from..to of the sheet at.
func Read(w *look.Window, from, to int, at cell.Ref, ids headword.Known) Set {
	r := titleReader{at, ids}
	t := Set{none: from >= to}
	depths := false
	var lone []Name
	for i := from; i < to; i++ {
		row := w.Row(i)
		if len(row) == 1 && row[0].Class == look.WordCell {
			if n, ok := headword.LoneID(headword.Tidy(w.Text(&row[0]))); ok && r.mayBe(n.Name()) {
				lone = append(lone, Name{Naming: n, At: row[0].Ref(at), Lone: true})
			}
		}
		for k := range row {
			b := &row[k]
			if b.Class != look.WordCell {
				continue
			}
			text := headword.Tidy(w.Text(b))
			if len(text) > 300 {
				continue
			}
			at := b.Ref(r.at)
			r.titleName(&t, w, row, k, text, at)
			t.Combined = t.Combined || headword.SaysCombined(text)
			t.Computed = t.Computed || headword.SaysComputed(w.Raw(b))
			for _, p := range headword.Pieces(text) {
				switch headword.ChartWordTable().Roles[p.Word] {
				case headword.RoleUllage:
					t.Ullage = true
				case headword.RoleDepth:
					depths = true
				}
			}
			r.titleHeight(&t, w, row, k, text)
			// A label with its value beside it speaks of that value.
			if k+1 < len(row) && row[k+1].Class.Readable() || k > 0 && row[k-1].Class.Readable() {
				continue
			}
			t.units(text, at)
		}
	}
	if depths {
		t.Ullage = false
	}
	if len(t.Names) == 0 && len(lone) == 1 {
		t.Names = lone
	}
	return t
}

// mayBe reports whether an id is one of the tank list, however it is written, or
// whether there is no list to ask.
func (r titleReader) mayBe(id string) bool {
	if len(r.ids) == 0 {
		return true
	}
	for known := range r.ids {
		if idform.Fold(known) == idform.Fold(id) {
			return true
		}
	}
	return false
}

func (r titleReader) titleName(t *Set, w *look.Window, row []look.Box, k int, text string, at cell.Ref) {
	n, ok := headword.ReadName(text, r.ids, false)
	if !ok && k+1 < len(row) {
		// "Tank" in one cell and its name in the next.
		label := headword.IdTokens(text)
		last := len(label)
		for last > 0 && (label[last-1] == ":" || strings.HasPrefix(unit.Fold(label[last-1]), "no") || label[last-1] == "#" || unit.Fold(label[last-1]) == "id" || unit.Fold(label[last-1]) == "name" || unit.Fold(label[last-1]) == "number") {
			last--
		}
		if last == 1 && headword.TankWord(unit.Fold(strings.TrimRight(label[0], ".#"))) {
			value := headword.Tidy(w.Text(&row[k+1]))
			if ts := headword.IdTokens(value); len(ts) > 0 && (headword.IdWord(ts[0], r.ids) || len(ts) == 1) && !strings.HasPrefix(value, "(") {
				if names := headword.IdList(ts, r.ids, true); len(names) > 0 {
					n, ok = headword.Naming{Names: names, Combined: len(names) > 1, Text: value}, true
				} else if len(ts) == 1 {
					n, ok = headword.Naming{Names: ts, Text: value}, true
				}
				at = row[k+1].Ref(r.at)
			}
		}
	}
	comp := ""
	if h := headword.Read(text); h.Compartment {
		ts := headword.IdTokens(text)
		for i, w := range ts {
			if headword.ChartWordTable().Roles[unit.Fold(w)] == headword.RoleCompartment && i+1 < len(ts) {
				c := strings.TrimLeft(ts[i+1], "#")
				if c == ":" && i+2 < len(ts) {
					c = ts[i+2]
				}
				if len(c) <= 12 && c != ")" && c != "," {
					comp = c
				}
			}
		}
	}
	if ok || comp != "" {
		t.Names = append(t.Names, Name{Naming: n, Comp: comp, At: at})
	}
}

// units notes the units that a title names for the columns below it.
func (t *Set) units(text string, at cell.Ref) {
	for _, part := range phrases(text) {
		depth, volume, size := false, false, false
		figures := false
		for _, p := range headword.Pieces(part) {
			figures = figures || p.Word[0] >= '0' && p.Word[0] <= '9'
			switch headword.ChartWordTable().Roles[p.Word] {
			case headword.RoleDepth, headword.RoleUllage:
				depth = true
			case headword.RoleVolume:
				volume = true
			}
			switch p.Word {
			case "diameter", "dia", "diam", "length", "shell", "wall", "thickness", "width", "nominal", "diametro", "largo", "longueur", "durchmesser", "lange", "riser", "capacity", "capacidad", "capacite":
				size = true
			}
		}
		if i := strings.LastIndexByte(part, ':'); i >= 0 && (t.unitList(part[:i], part[i+1:], at) || t.unitAlone(part[i+1:], depth, volume, at)) {
			continue
		}
		if size && figures || size && !depth && !volume {
			continue
		}
		if t.unitPair(part, at) {
			continue
		}
		found := headword.UnitsIn(part)
		if len(found) == 0 {
			// A lone "in" or "L" between commas is a unit.
			p := strings.TrimSpace(part)
			if u, err := unit.ParseLengthUnit(p); err == nil && p != text {
				found = append(found, unit.UnitWord{Length: u})
			} else if u, err := unit.ParseVolumeUnit(p); err == nil && p != text {
				found = append(found, unit.UnitWord{Volume: u})
			}
		}
		for _, u := range found {
			switch {
			case !u.Plain():
			case u.Length != 0:
				t.Lengths = append(t.Lengths, Length{u.Length, depth, at})
			case u.Volume != 0:
				t.volumes = append(t.volumes, Volume{u.Volume, volume, at})
			}
		}
	}
}

// AddUnits takes over the units that another row of titles names, where the set
// has none.
func (t *Set) AddUnits(o *Set) {
	if len(t.Lengths) == 0 {
		t.Lengths = o.Lengths
	}
	if len(t.volumes) == 0 {
		t.volumes = o.volumes
	}
}

// unitList notes the units behind a word for them: "Units: in", "units: in/gal".
func (t *Set) unitList(word, list string, at cell.Ref) bool {
	ps := headword.Pieces(word)
	if len(ps) == 0 || !unitsWord(ps[len(ps)-1].Word) {
		return false
	}
	found := false
	for _, p := range strings.FieldsFunc(list, func(r rune) bool { return headword.IsBlank(r) || r == '/' || r == '&' || r == '+' }) {
		if u, err := unit.ParseLengthUnit(p); err == nil {
			t.Lengths = append(t.Lengths, Length{u, false, at})
			found = true
		} else if u, err := unit.ParseVolumeUnit(p); err == nil {
			t.volumes = append(t.volumes, Volume{u, false, at})
			found = true
		}
	}
	return found
}

// unitAlone notes a unit that stands alone behind a colon and a word for what it
// is the unit of: "Capacity: gallons".
func (t *Set) unitAlone(s string, depth, volume bool, at cell.Ref) bool {
	s = strings.TrimSpace(s)
	if u, err := unit.ParseLengthUnit(s); err == nil && depth && s != "" {
		t.Lengths = append(t.Lengths, Length{u, true, at})
		return true
	}
	if u, err := unit.ParseVolumeUnit(s); err == nil && volume && s != "" {
		t.volumes = append(t.volumes, Volume{u, true, at})
		return true
	}
	return false
}

// unitPair notes a unit of length and one of volume that stand alone: "in / gal".
func (t *Set) unitPair(s string, at cell.Ref) bool {
	a, z, ok := strings.Cut(s, "/")
	if !ok {
		return false
	}
	l, lerr := unit.ParseLengthUnit(strings.TrimSpace(a))
	v, verr := unit.ParseVolumeUnit(strings.TrimSpace(z))
	if lerr != nil || verr != nil {
		return false
	}
	t.Lengths, t.volumes = append(t.Lengths, Length{l, false, at}), append(t.volumes, Volume{v, false, at})
	return true
}

func unitsWord(w string) bool {
	switch w {
	case "unit", "units", "einheit", "einheiten", "unidad", "unidades", "unite", "unites":
		return true
	}
	return false
}

// phrases cuts a title at the signs that part what it says; a comma within a
// number parts nothing.
func phrases(text string) []string {
	var out []string
	start := 0
	for i := 0; i < len(text); i++ {
		switch text[i] {
		case ',':
			if i > 0 && i+1 < len(text) && text[i-1] >= '0' && text[i-1] <= '9' && text[i+1] >= '0' && text[i+1] <= '9' {
				continue
			}
		case ';', '|', '(', ')', '\n':
		default:
			continue
		}
		out = append(out, text[start:i])
		start = i + 1
	}
	return append(out, text[start:])
}

// Length gives the unit of depths that the titles name; two that differ give
// the other one too.
func (t *Set) Length() (u, other Length) {
	for _, word := range []bool{true, false} {
		for _, l := range t.Lengths {
			switch {
			case word && !l.word:
			case u.Unit == 0:
				u = l
			case l.Unit != u.Unit && l.word == u.word && other.Unit == 0:
				other = l
			}
		}
		if u.Unit != 0 {
			break
		}
	}
	return u, other
}

func (t *Set) Volume() (u, other Volume) {
	for _, word := range []bool{true, false} {
		for _, l := range t.volumes {
			switch {
			case word && !l.word:
			case u.Unit == 0:
				u = l
			case l.Unit != u.Unit && l.word == u.word && other.Unit == 0:
				other = l
			}
		}
		if u.Unit != 0 {
			break
		}
	}
	return u, other
}

// heightWords name an inside height or diameter; outsideWords take it back.
var (
	heightWords  = "diameter dia diam diametro diametre durchmesser height ht altura hauteur hohe hoehe innendurchmesser innenhohe"
	outsideWords = "outside outer external exterior exterieur aussen aussendurchmesser od o.d overall shell roof wall riser fill manhole manway pipe tube bore width length nominal"
)

// titleHeight takes the tank's inside height from a title: "Inside diameter
// (in)" with 96 beside it, or "Inside diameter: 96 in" in one text.
func (r titleReader) titleHeight(t *Set, w *look.Window, row []look.Box, k int, text string) {
	if t.Height.Given() {
		return
	}
	end := -1
	for _, p := range headword.Pieces(text) {
		word := " " + p.Word + " "
		if strings.Contains(" "+outsideWords+" ", word) {
			return
		}
		if strings.Contains(" "+heightWords+" ", word) || strings.Contains(" id ", word) && unit.Fold(text) != "id" && strings.Contains(unit.Fold(text), "(") {
			end = p.End
		}
	}
	if end < 0 {
		return
	}
	named, _, n := unit.FindLengthUnit(text)
	if n > 1 {
		named = 0
	}
	give := func(b *look.Box, raw string, in unit.LengthUnit) {
		sign := unit.DecimalPoint
		switch unit.FormOf(raw) {
		case unit.FormComma:
			sign = unit.DecimalComma
		case unit.FormEitherPoint, unit.FormEitherComma:
			if b.Text && w.Comma {
				sign = unit.DecimalComma
			}
		}
		l, _, err := unit.ScanLength(raw, in, sign)
		if err != nil || l <= 0 {
			if f, ok := unit.Number(raw, sign); in == 0 && ok {
				t.HeightBad, t.HeightNum = b.Ref(r.at), f
			}
			return
		}
		t.Height = cell.Of[unit.Length]{V: l, Raw: raw, At: b.Ref(r.at)}
	}
	if rest := strings.TrimLeft(text[end:], " :=.)"); strings.ContainsAny(rest, "0123456789") {
		if i := strings.IndexAny(rest, ",;x×"); i > 0 {
			rest = rest[:i]
		}
		// "(in): 96" and "96 in"
		if i := strings.IndexAny(rest, "0123456789"); i > 0 {
			rest = rest[i:]
		}
		give(&row[k], strings.TrimSpace(rest), named)
		return
	}
	if k+1 < len(row) && row[k+1].Class.Readable() {
		b := &row[k+1]
		raw := w.Text(b)
		if b.Class == look.NumberCell && !b.Text {
			raw = survey.Number(b.Num)
		}
		in := named
		if in == 0 && k+2 < len(row) && row[k+2].Class == look.WordCell {
			if u, err := unit.ParseLengthUnit(headword.Tidy(w.Text(&row[k+2]))); err == nil {
				in = u
			}
		}
		give(b, raw, in)
		if in == 0 && !t.Height.Given() && !math.IsNaN(w.Value(b)) {
			// The unit may be the chart's; see turnUllage.
			t.HeightBad, t.HeightNum = b.Ref(r.at), w.Value(b)
		}
	}
}
