package intake

import (
	"math"
	"strings"

	"dropcut/plan/cell"
	"dropcut/plan/unit"
)

// titles is what the rows above a table say of it.
type titles struct {
	names     []placedName
	lengths   []placedLength
	volumes   []placedVolume
	ullage    bool // a title speaks of ullage, and none of depths
	height    cell.Of[unit.Length]
	heightBad cell.Ref // a height without a unit, and its number
	heightNum float64
	combined  bool
	none      bool // there are no rows above
}

type placedName struct {
	naming
	comp string
	at   cell.Ref
}

type placedLength struct {
	unit unit.LengthUnit
	word bool // it stands beside a word for depths
	at   cell.Ref
}

type placedVolume struct {
	unit unit.VolumeUnit
	word bool
	at   cell.Ref
}

// titles reads the rows from..to.
func (r *chartReader) titles(w *window, from, to int) titles {
	t := titles{none: from >= to}
	depths := false
	for i := from; i < to; i++ {
		row := w.row(i)
		for k := range row {
			b := &row[k]
			if b.class != wordCell {
				continue
			}
			text := tidy(w.text(b))
			if len(text) > 300 {
				continue
			}
			at := b.ref(r.at)
			r.titleName(&t, w, row, k, text, at)
			t.combined = t.combined || saysCombined(text)
			for _, p := range pieces(text) {
				switch chartWordTable().roles[p.word] {
				case roleUllage:
					t.ullage = true
				case roleDepth:
					depths = true
				}
			}
			r.titleHeight(&t, w, row, k, text)
			// A label with its value beside it speaks of that value.
			if k+1 < len(row) && row[k+1].class.readable() || k > 0 && row[k-1].class.readable() {
				continue
			}
			t.units(text, at)
		}
	}
	if depths {
		t.ullage = false
	}
	return t
}

func (r *chartReader) titleName(t *titles, w *window, row []box, k int, text string, at cell.Ref) {
	n, ok := readName(text, r.opt.IDs, false)
	if !ok && k+1 < len(row) {
		// "Tank" in one cell and its name in the next.
		label := idTokens(text)
		last := len(label)
		for last > 0 && (label[last-1] == ":" || strings.HasPrefix(unit.Fold(label[last-1]), "no") || label[last-1] == "#" || unit.Fold(label[last-1]) == "id" || unit.Fold(label[last-1]) == "name" || unit.Fold(label[last-1]) == "number") {
			last--
		}
		if last == 1 && tankWord(unit.Fold(strings.TrimRight(label[0], ".#"))) {
			value := tidy(w.text(&row[k+1]))
			if ts := idTokens(value); len(ts) > 0 && (idWord(ts[0], r.opt.IDs) || len(ts) == 1) && !strings.HasPrefix(value, "(") {
				if names := idList(ts, r.opt.IDs, true); len(names) > 0 {
					n, ok = naming{names: names, combined: len(names) > 1, text: value}, true
				} else if len(ts) == 1 {
					n, ok = naming{names: ts, text: value}, true
				}
				at = row[k+1].ref(r.at)
			}
		}
	}
	comp := ""
	if h := readHeading(text); h.compartment {
		ts := idTokens(text)
		for i, w := range ts {
			if chartWordTable().roles[unit.Fold(w)] == roleCompartment && i+1 < len(ts) {
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
		t.names = append(t.names, placedName{n, comp, at})
	}
}

// units notes the units that a title names for the columns below it.
func (t *titles) units(text string, at cell.Ref) {
	for _, part := range phrases(text) {
		depth, volume, size := false, false, false
		figures := false
		for _, p := range pieces(part) {
			figures = figures || p.word[0] >= '0' && p.word[0] <= '9'
			switch chartWordTable().roles[p.word] {
			case roleDepth, roleUllage:
				depth = true
			case roleVolume:
				volume = true
			}
			switch p.word {
			case "diameter", "dia", "diam", "length", "shell", "wall", "thickness", "width", "nominal", "diametro", "largo", "longueur", "durchmesser", "lange", "riser", "capacity", "capacidad", "capacite":
				size = true
			}
		}
		if size && figures || size && !depth && !volume {
			continue
		}
		found := unitsIn(part)
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
				t.lengths = append(t.lengths, placedLength{u.Length, depth, at})
			case u.Volume != 0:
				t.volumes = append(t.volumes, placedVolume{u.Volume, volume, at})
			}
		}
	}
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

// length gives the unit of depths that the titles name; two that differ give
// the other one too.
func (t *titles) length() (u, other placedLength) {
	for _, word := range []bool{true, false} {
		for _, l := range t.lengths {
			switch {
			case word && !l.word:
			case u.unit == 0:
				u = l
			case l.unit != u.unit && l.word == u.word && other.unit == 0:
				other = l
			}
		}
		if u.unit != 0 {
			break
		}
	}
	return u, other
}

func (t *titles) volume() (u, other placedVolume) {
	for _, word := range []bool{true, false} {
		for _, l := range t.volumes {
			switch {
			case word && !l.word:
			case u.unit == 0:
				u = l
			case l.unit != u.unit && l.word == u.word && other.unit == 0:
				other = l
			}
		}
		if u.unit != 0 {
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
func (r *chartReader) titleHeight(t *titles, w *window, row []box, k int, text string) {
	if t.height.Given() {
		return
	}
	end := -1
	for _, p := range pieces(text) {
		word := " " + p.word + " "
		if strings.Contains(" "+outsideWords+" ", word) {
			return
		}
		if strings.Contains(" "+heightWords+" ", word) || strings.Contains(" id ", word) && unit.Fold(text) != "id" && strings.Contains(unit.Fold(text), "(") {
			end = p.end
		}
	}
	if end < 0 {
		return
	}
	named, _, n := unit.FindLengthUnit(text)
	if n > 1 {
		named = 0
	}
	give := func(b *box, raw string, in unit.LengthUnit) {
		sign := unit.DecimalPoint
		switch unit.FormOf(raw) {
		case unit.FormComma:
			sign = unit.DecimalComma
		case unit.FormEitherPoint, unit.FormEitherComma:
			if b.text && w.comma {
				sign = unit.DecimalComma
			}
		}
		l, _, err := unit.ScanLength(raw, in, sign)
		if err != nil || l <= 0 {
			if f, ok := unit.Number(raw, sign); in == 0 && ok {
				t.heightBad, t.heightNum = b.ref(r.at), f
			}
			return
		}
		t.height = cell.Of[unit.Length]{V: l, Raw: raw, At: b.ref(r.at)}
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
	if k+1 < len(row) && row[k+1].class.readable() {
		b := &row[k+1]
		raw := w.text(b)
		if b.class == numberCell && !b.text {
			raw = trimNumber(b.num)
		}
		in := named
		if in == 0 && k+2 < len(row) && row[k+2].class == wordCell {
			if u, err := unit.ParseLengthUnit(tidy(w.text(&row[k+2]))); err == nil {
				in = u
			}
		}
		give(b, raw, in)
		if in == 0 && !t.height.Given() && !math.IsNaN(w.value(b)) {
			// The unit may be the chart's; see turnUllage.
			t.heightBad, t.heightNum = b.ref(r.at), w.value(b)
		}
	}
}
