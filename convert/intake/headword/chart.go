// Package headword knows the words that headings, titles and names are written
// with: what a column of a chart or of a list holds, in which unit, and which tank
// a text names.
package headword

import (
	"regexp"
	"slices"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"dropcut/plan/unit"
)

// Role is what a column of a chart holds.
type Role uint8

const (
	RoleNone Role = iota
	RoleDepth
	RoleUllage
	RoleVolume
	RolePercent
	RoleStep
	RoleArea
	RoleTank
	RoleCompartment
	RoleSite
	RoleDepthUnit
	RoleVolumeUnit
	// RoleOther columns are known and hold nothing that a chart needs.
	RoleOther
)

var roleNames = [...]string{"", "depth", "ullage", "volume", "percent", "step", "area", "tank", "compartment", "site", "depth unit", "volume unit", "other"}

func (r Role) String() string { return roleNames[r] }

// chartWords is the table of the words that chart headings are known by, in
// English, Spanish, French and German, folded as unit.Fold does. A word that
// stands in two rows counts for the first of them.
var chartWords = []struct {
	role           Role
	en, es, fr, de string
}{
	{
		RoleDepthUnit, "depth unit, depth units, dip unit, unit of depth, length unit, height unit",
		"unidad de profundidad, unidad de altura", "unite de hauteur", "einheit tiefe, einheit hohe",
	},
	{
		RoleVolumeUnit, "volume unit, volume units, vol unit, unit of volume, contents unit",
		"unidad de volumen", "unite de volume", "einheit volumen, einheit inhalt",
	},
	{
		RolePercent, "%, percent, pct, percentage, percent full, full, fill",
		"porcentaje, por ciento, llenado", "pourcentage, pourcent, remplissage", "prozent, fullgrad, fuellgrad",
	},
	{
		RoleStep, "difference, diff, delta, Δ, increment, incremental, step, inc, per, increase, change, interpolation, factor",
		"diferencia, incremento, paso", "ecart, pas, accroissement", "differenz, zuwachs, schritt, zunahme",
	},
	{
		RoleArea, "area, surface, surface area, sq", "superficie", "superficie", "flache, flaeche, oberflache",
	},
	{
		RoleUllage, "ullage, ullages, ull, outage, below, from top, from the top, dry, air gap, headspace, void",
		"vacio, desde arriba, merma", "creux, vide", "leerhohe, leerhoehe, abstich, leermass, luftraum",
	},
	{
		RoleDepth, "depth, depths, dip, dips, innage, gauge, gage, gaug, stick, dipstick, height, ht, hgt, level, liquid level, sounding, soundings, reading, trim, elevation, elev, stage, wet, ruler, h",
		"profundidad, profundidades, altura, alturas, nivel, niveles, varilla, sonda, medida, regla, calado", "hauteur, hauteurs, niveau, niveaux, jauge, profondeur, pige, tirant",
		"tiefe, tiefen, hohe, hoehe, hohen, fullhohe, fuellhoehe, peilung, peilhohe, peilmass, peilstab, fullstand, fuellstand, stand, pegel, messhohe",
	},
	{
		RoleVolume, "volume, volumes, vol, vols, content, contents, capacity, capacities, cap, quantity, qty, storage, amount",
		"volumen, volumenes, contenido, contenidos, capacidad, capacidades, cantidad", "contenance, contenances, capacite, capacites, quantite", "inhalt, inhalte, volumina, menge, fassungsvermogen, rauminhalt",
	},
	{RoleCompartment, "compartment, compart, comp, compt, cpt, chamber", "compartimento, compartimiento", "compartiment", "kammer, abteil"},
	{
		RoleTank, "tank, tanks, tank id, tank no, tank number, tank name, tankid, tank ref, vessel, id",
		"tanque, tanques, deposito, estanque", "cuve, cuves, reservoir, citerne", "behalter, behaelter, tanknummer, tanknr, lagertank",
	},
	{RoleSite, "site, station, location, facility, store", "sitio, estacion, instalacion", "emplacement", "standort, tankstelle, anlage"},
	{
		RoleOther, "row, rows, line, no, nr, #, item, index, seq, page, note, notes, remark, remarks, comment, comments, temp, temperature, pressure, weight, mass, density, kg, lb, date, product, grade, fuel, revision, checked",
		"fila, linea, numero, nota, notas, observaciones, fecha, peso, producto", "ligne, remarque, remarques, poids, date, produit, numero", "zeile, nummer, bemerkung, bemerkungen, gewicht, datum, produkt, kraftstoff",
	},
}

// quietWords may stand in a heading beside its role and say nothing of it.
const quietWords = "of in the to at from and a an for with by on or liquid product measured inside internal net gross total approx bottom corrected charted actual true us imp imperial uk x " +
	"de del la el en los las y con a du des les le au aux et par d l un une von der die das und mit bei dem den im " +
	"table chart reading readings mark marks fuel total tank's value values scale unit units std calibrated calibration"

// sizeWords make a heading that of a tank's size or of its fittings, whatever
// other words and units it holds: "Riser height (in)", "Diameter, mm".
var sizeWords = map[string]bool{
	"riser": true, "diameter": true, "diam": true, "dia": true, "diametro": true, "diametre": true, "durchmesser": true, "innendurchmesser": true, "thickness": true, "bore": true, "nipple": true,
	"alarm": true, "clearance": true, "striker": true, "nennvolumen": true, "nenninhalt": true,
}

type wordTable struct {
	Roles map[string]Role
	quiet map[string]bool
}

var ChartWordTable = sync.OnceValue(func() wordTable {
	t := wordTable{Roles: make(map[string]Role), quiet: make(map[string]bool)}
	for _, row := range chartWords {
		for _, list := range []string{row.en, row.es, row.fr, row.de} {
			for w := range strings.SplitSeq(list, ", ") {
				if _, there := t.Roles[w]; w != "" && !there {
					t.Roles[w] = row.role
				}
			}
		}
	}
	for _, w := range strings.Fields(quietWords) {
		t.quiet[w] = true
	}
	return t
})

// Heading is what a column's heading says.
type Heading struct {
	Text   string
	Role   Role
	Length unit.LengthUnit
	Volume unit.VolumeUnit
	// Lengths and Volumes count the different units that are named.
	Lengths, Volumes int
	// Rest is what neither names the column's role nor its unit: a tank's name,
	// "CF-1" of "CF-1 (gal)".
	Rest string
	// Compartment says that rest names a compartment.
	Compartment bool
	named       bool // the heading holds a word of the tables or a unit
	// FeetInches says that the numbers are written as feet followed by inches,
	// 8' 2" or 8-2; length is then that of the inches.
	FeetInches bool
	// Multiple is the words that make each number stand for more of its unit
	// ("x 100", "100s"); "" for none.
	Multiple string
}

// multiples are the ways to write that a column counts hundreds or thousands. A
// unit of its own, as in "1000 gal", is read where units are.
var multiples = regexp.MustCompile(`(?i)(?:^|[\s(])(?:[x×*]\s*10+|10+\s*[x×*]|10+['’]?s|(?:in|of)?\s*(?:tens|hundreds|thousands))(?:$|[\s),])`)

// conditions are temperatures and the like in a heading, which name no tank:
// "@ 15C", "at 60 F", "'000".
var conditions = regexp.MustCompile(`(?i)(?:@|\b(?:at|to)\b)\s*\d{1,3}(?:[.,]\d+)?\s*(?:°|deg\.?)?\s*[CF]\b|['’]000\b`)

// dottedUS is the country of a gallon, written with points.
var dottedUS = regexp.MustCompile(`\bU\.\s?S\b\.?(\s|$|\))`)

// share reports whether a heading names a share of the volume: "90% (gal)".
func share(ps []piece) bool {
	percent, figure := false, false
	for _, p := range ps {
		switch p.Word {
		case "%", "percent", "pct", "prozent", "pourcent":
			percent = true
		}
		figure = figure || p.Word[0] >= '0' && p.Word[0] <= '9'
	}
	return percent && figure
}

// piece is a word of a heading with its place in the text.
type piece struct {
	Word       string
	start, End int
}

// Pieces cuts a text into words, folded. A word may hold the signs that ids
// hold: "CF-1", "PS-4/A".
func Pieces(s string) []piece {
	var out []piece
	start := -1
	flush := func(end int) {
		if start >= 0 {
			out = append(out, piece{unit.Fold(s[start:end]), start, end})
		}
		start = -1
	}
	for i, r := range s {
		switch {
		case unicode.IsLetter(r) || unicode.IsNumber(r) || r == '_' || r == 'Δ':
			if start < 0 {
				start = i
			}
		case r == '%' || r == '#':
			flush(i)
			out = append(out, piece{string(r), i, i + 1})
		default:
			flush(i)
		}
	}
	flush(len(s))
	return out
}

// Read reads the heading of a column.
func Read(text string) Heading {
	h := readWords(text)
	if h.Length == 0 && h.Volume == 0 && oneWord.MatchString(text) {
		// "DepthIn", "VolGal", as databases write their columns.
		if g := readWords(wordsApart(text)); g.Role != 0 && (g.Length != 0 || g.Volume != 0) {
			g.Text = text
			return g
		}
	}
	return h
}

var (
	oneWord     = regexp.MustCompile(`^[A-Za-z][a-z]+([A-Z]+[a-z]*)+$`)
	shortAndNew = regexp.MustCompile(`([A-Z]{2})([A-Z][a-z])`) // the end of US in USGallons
	wordAndNew  = regexp.MustCompile(`([a-z])([A-Z])`)
)

// wordsApart gives "Volume US Gallons" for "VolumeUSGallons".
func wordsApart(text string) string {
	return wordAndNew.ReplaceAllString(shortAndNew.ReplaceAllString(text, "$1 $2"), "$1 $2")
}

// readWords is Read of a heading whose words stand apart.
func readWords(text string) Heading {
	h := Heading{Text: text}
	text = dottedUS.ReplaceAllString(strings.ReplaceAll(text, "_", " "), "US$1")
	covered := make([]bool, len(text))
	ratio := false
	var lengths []unit.UnitWord
	for _, w := range UnitsIn(text) {
		for i := w.At; i < w.At+len(w.Word) && i < len(covered); i++ {
			covered[i] = true
		}
		switch {
		case w.Ratio:
			ratio = true
		case w.OfNumber:
			// "at 60 F", "No. 2 L": of a number, not of the column
			for i := w.At; i < w.At+len(w.Word) && i < len(covered); i++ {
				covered[i] = false
			}
		case w.Length != 0:
			lengths = append(lengths, w)
			if h.Lengths == 0 || w.Length != h.Length {
				h.Lengths++
			}
			if h.Lengths == 1 {
				h.Length = w.Length
			}
		case w.Volume != 0:
			if h.Volumes == 0 || w.Volume != h.Volume {
				h.Volumes++
			}
			if h.Volumes == 1 {
				h.Volume = w.Volume
			}
		}
	}
	if len(lengths) == 2 && lengths[0].Length == unit.Feet && lengths[1].Length == unit.Inches && joins(text[lengths[0].At+len(lengths[0].Word):lengths[1].At]) {
		h.FeetInches, h.Length, h.Lengths = true, unit.Inches, 1
	}
	t := ChartWordTable()
	ps := Pieces(text)
	var roles []Role
	var rest []piece
	apart := conditions.FindAllStringIndex(text, -1)
	if m := multiples.FindStringIndex(text); m != nil {
		h.Multiple = strings.TrimSpace(text[m[0]:m[1]])
		apart = append(apart, m)
	}
	for i := 0; i < len(ps); {
		if covered[ps[i].start] {
			i++
			continue
		}
		n, r := 0, RoleNone
		for k := min(3, len(ps)-i); k > 0; k-- {
			words := make([]string, 0, 3)
			for _, p := range ps[i : i+k] {
				words = append(words, p.Word)
			}
			if x, ok := t.Roles[strings.Join(words, " ")]; ok {
				n, r = k, x
				break
			}
		}
		// "Compartment A", "Tank H": the letter is a name.
		letter := i > 0 && len(ps[i].Word) == 1 && unicode.IsUpper(rune(text[ps[i].start])) &&
			(TankWord(ps[i-1].Word) || t.Roles[ps[i-1].Word] == RoleCompartment)
		switch {
		case inside(apart, ps[i]):
		case letter:
			rest = append(rest, ps[i])
		case n > 0:
			// "H-2" is a name, whatever the words of its parts are.
			if n == 1 && idAt(text, ps, i) {
				rest = append(rest, ps[i])
				i++
				continue
			}
			roles = append(roles, r)
			i += n
			continue
		case t.quiet[ps[i].Word] && !idAt(text, ps, i) && (i == 0 || !idJoin(text[ps[i-1].End:ps[i].start])):
		default:
			rest = append(rest, ps[i])
		}
		i++
	}
	size := false
	for i, p := range ps {
		size = size || !covered[p.start] && sizeWords[p.Word] && !idAt(text, ps, i)
	}
	has := func(r Role) bool { return slices.Contains(roles, r) }
	h.named = len(roles) > 0 || h.Lengths+h.Volumes > 0 || ratio
	switch {
	case share(ps) && (h.Volumes > 0 || has(RoleVolume)):
		h.Role = RoleOther // the volume at a percentage
	case size:
		h.Role = RoleOther // of the tank, not of the liquid
	case has(RoleDepthUnit):
		h.Role = RoleDepthUnit
	case has(RoleVolumeUnit):
		h.Role = RoleVolumeUnit
	case ratio, has(RoleStep):
		h.Role = RoleStep
	case has(RolePercent) && h.Volumes == 0 && h.Lengths == 0:
		h.Role = RolePercent
	case has(RoleArea):
		h.Role = RoleArea
	case has(RoleUllage) && (has(RoleVolume) || h.Volumes > 0):
		h.Role = RoleOther // the volume of the empty room
	case has(RoleUllage):
		h.Role = RoleUllage
	case h.Lengths > 0 && h.Volumes == 0:
		h.Role = RoleDepth
	case h.Volumes > 0 && h.Lengths == 0:
		h.Role = RoleVolume
	case has(RoleDepth) && has(RoleVolume):
		h.Role = RoleVolume
		for _, r := range roles {
			if r == RoleDepth || r == RoleVolume {
				h.Role = r
				break
			}
		}
	case has(RoleDepth):
		h.Role = RoleDepth
	case has(RoleVolume):
		h.Role = RoleVolume
	case has(RoleCompartment) && len(rest) == 0:
		h.Role = RoleCompartment
	case has(RoleTank) && len(rest) == 0:
		h.Role = RoleTank
	case has(RoleSite) && len(rest) == 0:
		h.Role = RoleSite
	case has(RoleOther) && len(rest) == 0:
		h.Role = RoleOther
	}
	h.Compartment = has(RoleCompartment)
	if len(rest) > 0 {
		h.Rest = strings.TrimSpace(text[rest[0].start:rest[len(rest)-1].End])
	}
	return h
}

// inside reports whether a word stands in one of the stretches of its text.
func inside(stretches [][]int, p piece) bool {
	return slices.ContainsFunc(stretches, func(s []int) bool { return p.start >= s[0] && p.End <= s[1] })
}

// joins reports whether what stands between two units makes one notation of
// them: "ft-in", "feet/inches", "ft and in".
func joins(between string) bool {
	for _, w := range []string{"and", "y", "et", "und"} {
		if unit.Fold(strings.TrimSpace(between)) == w {
			return true
		}
	}
	return strings.Trim(between, " -–—‐‑−/&+.,'’\"”") == "" && len(between) <= 5
}

// idAt reports whether the word at i is part of an id: joined by a hyphen,
// slash or dot to a piece with figures ("H-2", "IN-4").
func idAt(text string, ps []piece, i int) bool {
	figures := func(p piece) bool {
		return len(p.Word) <= 4 && strings.ContainsAny(p.Word, "0123456789")
	}
	joined := func(a, b piece) bool { return idJoin(text[a.End:b.start]) }
	if i+1 < len(ps) && joined(ps[i], ps[i+1]) && figures(ps[i+1]) {
		return true
	}
	return i > 0 && joined(ps[i-1], ps[i]) && figures(ps[i]) && len(ps[i-1].Word) <= 4
}

// idJoin reports whether a text is one of the signs that join the parts of an
// id.
func idJoin(s string) bool {
	switch s {
	case "-", "–", "—", "‐", "‑", "−", "/", ".":
		return true
	}
	return false
}

// UnitsIn lists the units that a heading or a title names, without the words
// that are parts of ids ("CM-8"), and with those that follow the number of an id
// ("Tank 1 gal", "CF-1 gal").
func UnitsIn(text string) []unit.UnitWord {
	found := unit.FindUnits(text)
	out := found[:0]
	for _, w := range found {
		rest := text[w.At+len(w.Word):]
		if len(rest) > 1 {
			r, n := utf8.DecodeRuneInString(rest)
			if r != '.' && r != '/' && IdSign(r) && len(rest) > n && rest[n] >= '0' && rest[n] <= '9' {
				continue
			}
		}
		if numberedTank(text, w) {
			continue // "Tank M3"
		}
		if w.OfNumber && numberOfID(text[:w.At]) {
			w.OfNumber = false
		}
		out = append(out, w)
	}
	return out
}

// numberedTank reports whether a unit with a figure in it is the name of a tank,
// in capitals behind a word for one.
func numberedTank(text string, w unit.UnitWord) bool {
	if !strings.ContainsAny(w.Word, "0123456789") || w.Word != strings.ToUpper(w.Word) {
		return false
	}
	before := strings.TrimRightFunc(text[:w.At], IsBlank)
	ps := Pieces(before)
	return before != text[:w.At] && len(ps) > 0 && ps[len(ps)-1].End == len(before) && TankWord(ps[len(ps)-1].Word)
}

// numberOfID reports whether the number that a text ends with belongs to an id.
func numberOfID(s string) bool {
	bracket := strings.HasSuffix(strings.TrimRight(s, " "), "(")
	s = strings.TrimRight(s, " (")
	digits := strings.TrimRight(s, "0123456789")
	if digits == s {
		return false
	}
	if digits == "" {
		return bracket // "103 (gal)"
	}
	before := strings.TrimRightFunc(digits, IsBlank)
	if before != digits {
		ps := Pieces(before)
		if len(ps) == 0 || ps[len(ps)-1].End < len(strings.TrimRight(before, ".#")) {
			return false
		}
		w := ps[len(ps)-1].Word
		return TankWord(w) || ChartWordTable().Roles[w] == RoleCompartment || w == "no" || w == "nr"
	}
	r, n := utf8.DecodeLastRuneInString(digits)
	if !IdSign(r) || r == '.' || r == '/' {
		return unicode.IsLetter(r)
	}
	prev, _ := utf8.DecodeLastRuneInString(digits[:len(digits)-n])
	return unicode.IsLetter(prev)
}
