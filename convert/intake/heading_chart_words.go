package intake

import (
	"regexp"
	"slices"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"dropcut/plan/unit"
)

// role is what a column of a chart holds.
type role uint8

const (
	roleNone role = iota
	roleDepth
	roleUllage
	roleVolume
	rolePercent
	roleStep
	roleArea
	roleTank
	roleCompartment
	roleSite
	roleDepthUnit
	roleVolumeUnit
	// roleOther columns are known and hold nothing that a chart needs.
	roleOther
)

var roleNames = [...]string{"", "depth", "ullage", "volume", "percent", "step", "area", "tank", "compartment", "site", "depth unit", "volume unit", "other"}

func (r role) String() string { return roleNames[r] }

// chartWords is the table of the words that chart headings are known by, in
// English, Spanish, French and German, folded as unit.Fold does. A word that
// stands in two rows counts for the first of them.
var chartWords = []struct {
	role           role
	en, es, fr, de string
}{
	{
		roleDepthUnit, "depth unit, depth units, dip unit, unit of depth, length unit, height unit",
		"unidad de profundidad, unidad de altura", "unite de hauteur", "einheit tiefe, einheit hohe",
	},
	{
		roleVolumeUnit, "volume unit, volume units, vol unit, unit of volume, contents unit",
		"unidad de volumen", "unite de volume", "einheit volumen, einheit inhalt",
	},
	{
		rolePercent, "%, percent, pct, percentage, percent full, full, fill",
		"porcentaje, por ciento, llenado", "pourcentage, pourcent, remplissage", "prozent, fullgrad, fuellgrad",
	},
	{
		roleStep, "difference, diff, delta, Δ, increment, incremental, step, inc, per, increase, change, interpolation, factor",
		"diferencia, incremento, paso", "ecart, pas, accroissement", "differenz, zuwachs, schritt, zunahme",
	},
	{
		roleArea, "area, surface, surface area, sq", "superficie", "superficie", "flache, flaeche, oberflache",
	},
	{
		roleUllage, "ullage, ullages, ull, outage, below, from top, from the top, dry, air gap, headspace, void",
		"vacio, desde arriba, merma", "creux, vide", "leerhohe, leerhoehe, abstich, leermass, luftraum",
	},
	{
		roleDepth, "depth, depths, dip, dips, innage, gauge, gage, gaug, stick, dipstick, height, ht, hgt, level, liquid level, sounding, soundings, reading, trim, elevation, elev, stage, wet, ruler, h",
		"profundidad, altura, nivel, varilla, sonda, medida, regla, calado", "hauteur, niveau, jauge, profondeur, pige, tirant",
		"tiefe, hohe, hoehe, fullhohe, fuellhoehe, peilung, peilhohe, peilmass, peilstab, fullstand, fuellstand, stand, pegel, messhohe",
	},
	{
		roleVolume, "volume, volumes, vol, vols, content, contents, capacity, capacities, cap, quantity, qty, storage, amount",
		"volumen, contenido, capacidad, cantidad", "contenance, capacite, quantite", "inhalt, menge, fassungsvermogen, rauminhalt",
	},
	{roleCompartment, "compartment, compart, comp, compt, cpt, chamber", "compartimento, compartimiento", "compartiment", "kammer, abteil"},
	{
		roleTank, "tank, tanks, tank id, tank no, tank number, tank name, tankid, tank ref, vessel, id",
		"tanque, tanques, deposito, estanque", "cuve, cuves, reservoir, citerne", "behalter, behaelter, tanknummer, tanknr, lagertank",
	},
	{roleSite, "site, station, location, facility, store", "sitio, estacion, instalacion", "emplacement", "standort, tankstelle, anlage"},
	{
		roleOther, "row, rows, line, no, nr, #, item, index, seq, page, note, notes, remark, remarks, comment, comments, temp, temperature, pressure, weight, mass, density, kg, lb, date, product, grade, fuel, revision, checked",
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
	roles map[string]role
	quiet map[string]bool
}

var chartWordTable = sync.OnceValue(func() wordTable {
	t := wordTable{roles: make(map[string]role), quiet: make(map[string]bool)}
	for _, row := range chartWords {
		for _, list := range []string{row.en, row.es, row.fr, row.de} {
			for w := range strings.SplitSeq(list, ", ") {
				if _, there := t.roles[w]; w != "" && !there {
					t.roles[w] = row.role
				}
			}
		}
	}
	for _, w := range strings.Fields(quietWords) {
		t.quiet[w] = true
	}
	return t
})

// heading is what a column's heading says.
type heading struct {
	text   string
	role   role
	length unit.LengthUnit
	volume unit.VolumeUnit
	// lengths and volumes count the different units that are named.
	lengths, volumes int
	// rest is what neither names the column's role nor its unit: a tank's name,
	// "CF-1" of "CF-1 (gal)".
	rest string
	// compartment says that rest names a compartment.
	compartment bool
	named       bool // the heading holds a word of the tables or a unit
	// feetInches says that the numbers are written as feet followed by inches,
	// 8' 2" or 8-2; length is then that of the inches.
	feetInches bool
	// multiple is the words that make each number stand for more of its unit
	// ("x 100", "100s"); "" for none.
	multiple string
}

// multiples are the ways to write that a column counts hundreds or thousands. A
// unit of its own, as in "1000 gal", is read where units are.
var multiples = regexp.MustCompile(`(?i)(?:^|[\s(])(?:[x×*]\s*10+|10+\s*[x×*]|10+['’]?s|(?:in|of)?\s*(?:tens|hundreds|thousands))(?:$|[\s),])`)

// conditions are temperatures and the like in a heading, which name no tank:
// "@ 15C", "at 60 F", "'000".
var conditions = regexp.MustCompile(`(?i)(?:@|\b(?:at|to)\b)\s*\d{1,3}(?:[.,]\d+)?\s*(?:°|deg\.?)?\s*[CF]\b|['’]000\b`)

// share reports whether a heading names a share of the volume: "90% (gal)".
func share(ps []piece) bool {
	percent, figure := false, false
	for _, p := range ps {
		switch p.word {
		case "%", "percent", "pct", "prozent", "pourcent":
			percent = true
		}
		figure = figure || p.word[0] >= '0' && p.word[0] <= '9'
	}
	return percent && figure
}

// piece is a word of a heading with its place in the text.
type piece struct {
	word       string
	start, end int
}

// pieces cuts a text into words, folded. A word may hold the signs that ids
// hold: "CF-1", "PS-4/A".
func pieces(s string) []piece {
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

// readHeading reads the heading of a column.
func readHeading(text string) heading {
	h := heading{text: text}
	text = strings.ReplaceAll(text, "_", " ")
	covered := make([]bool, len(text))
	ratio := false
	var lengths []unit.UnitWord
	for _, w := range unitsIn(text) {
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
			if h.lengths == 0 || w.Length != h.length {
				h.lengths++
			}
			if h.lengths == 1 {
				h.length = w.Length
			}
		case w.Volume != 0:
			if h.volumes == 0 || w.Volume != h.volume {
				h.volumes++
			}
			if h.volumes == 1 {
				h.volume = w.Volume
			}
		}
	}
	if len(lengths) == 2 && lengths[0].Length == unit.Feet && lengths[1].Length == unit.Inches && joins(text[lengths[0].At+len(lengths[0].Word):lengths[1].At]) {
		h.feetInches, h.length, h.lengths = true, unit.Inches, 1
	}
	t := chartWordTable()
	ps := pieces(text)
	var roles []role
	var rest []piece
	apart := conditions.FindAllStringIndex(text, -1)
	if m := multiples.FindStringIndex(text); m != nil {
		h.multiple = strings.TrimSpace(text[m[0]:m[1]])
		apart = append(apart, m)
	}
	for i := 0; i < len(ps); {
		if covered[ps[i].start] {
			i++
			continue
		}
		n, r := 0, roleNone
		for k := min(3, len(ps)-i); k > 0; k-- {
			words := make([]string, 0, 3)
			for _, p := range ps[i : i+k] {
				words = append(words, p.word)
			}
			if x, ok := t.roles[strings.Join(words, " ")]; ok {
				n, r = k, x
				break
			}
		}
		// "Compartment A", "Tank H": the letter is a name.
		letter := i > 0 && len(ps[i].word) == 1 && unicode.IsUpper(rune(text[ps[i].start])) &&
			(tankWord(ps[i-1].word) || t.roles[ps[i-1].word] == roleCompartment)
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
		case t.quiet[ps[i].word] && !idAt(text, ps, i) && (i == 0 || !idJoin(text[ps[i-1].end:ps[i].start])):
		default:
			rest = append(rest, ps[i])
		}
		i++
	}
	size := false
	for i, p := range ps {
		size = size || !covered[p.start] && sizeWords[p.word] && !idAt(text, ps, i)
	}
	has := func(r role) bool { return slices.Contains(roles, r) }
	h.named = len(roles) > 0 || h.lengths+h.volumes > 0 || ratio
	switch {
	case share(ps) && h.volumes > 0:
		h.role = roleOther // the volume at a percentage
	case size:
		h.role = roleOther // of the tank, not of the liquid
	case has(roleDepthUnit):
		h.role = roleDepthUnit
	case has(roleVolumeUnit):
		h.role = roleVolumeUnit
	case ratio, has(roleStep):
		h.role = roleStep
	case has(rolePercent) && h.volumes == 0 && h.lengths == 0:
		h.role = rolePercent
	case has(roleArea):
		h.role = roleArea
	case has(roleUllage) && (has(roleVolume) || h.volumes > 0):
		h.role = roleOther // the volume of the empty room
	case has(roleUllage):
		h.role = roleUllage
	case h.lengths > 0 && h.volumes == 0:
		h.role = roleDepth
	case h.volumes > 0 && h.lengths == 0:
		h.role = roleVolume
	case has(roleDepth) && has(roleVolume):
		h.role = roleVolume
		for _, r := range roles {
			if r == roleDepth || r == roleVolume {
				h.role = r
				break
			}
		}
	case has(roleDepth):
		h.role = roleDepth
	case has(roleVolume):
		h.role = roleVolume
	case has(roleCompartment) && len(rest) == 0:
		h.role = roleCompartment
	case has(roleTank) && len(rest) == 0:
		h.role = roleTank
	case has(roleSite) && len(rest) == 0:
		h.role = roleSite
	case has(roleOther) && len(rest) == 0:
		h.role = roleOther
	}
	h.compartment = has(roleCompartment)
	if len(rest) > 0 {
		h.rest = strings.TrimSpace(text[rest[0].start:rest[len(rest)-1].end])
	}
	return h
}

// inside reports whether a word stands in one of the stretches of its text.
func inside(stretches [][]int, p piece) bool {
	return slices.ContainsFunc(stretches, func(s []int) bool { return p.start >= s[0] && p.end <= s[1] })
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
		return len(p.word) <= 4 && strings.ContainsAny(p.word, "0123456789")
	}
	joined := func(a, b piece) bool { return idJoin(text[a.end:b.start]) }
	if i+1 < len(ps) && joined(ps[i], ps[i+1]) && figures(ps[i+1]) {
		return true
	}
	return i > 0 && joined(ps[i-1], ps[i]) && figures(ps[i]) && len(ps[i-1].word) <= 4
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

// unitsIn lists the units that a heading or a title names, without the words
// that are parts of ids ("CM-8"), and with those that follow the number of an id
// ("Tank 1 gal", "CF-1 gal").
func unitsIn(text string) []unit.UnitWord {
	found := unit.FindUnits(text)
	out := found[:0]
	for _, w := range found {
		rest := text[w.At+len(w.Word):]
		if len(rest) > 1 {
			r, n := utf8.DecodeRuneInString(rest)
			if r != '.' && r != '/' && idSign(r) && len(rest) > n && rest[n] >= '0' && rest[n] <= '9' {
				continue
			}
		}
		if w.OfNumber && numberOfID(text[:w.At]) {
			w.OfNumber = false
		}
		out = append(out, w)
	}
	return out
}

// numberOfID reports whether the number that a text ends with belongs to an id.
func numberOfID(s string) bool {
	s = strings.TrimRight(s, " (")
	digits := strings.TrimRight(s, "0123456789")
	if digits == s {
		return false
	}
	before := strings.TrimRightFunc(digits, blankRune)
	if before != digits {
		ps := pieces(before)
		if len(ps) == 0 || ps[len(ps)-1].end < len(strings.TrimRight(before, ".#")) {
			return false
		}
		w := ps[len(ps)-1].word
		return tankWord(w) || chartWordTable().roles[w] == roleCompartment || w == "no" || w == "nr"
	}
	r, n := utf8.DecodeLastRuneInString(digits)
	if !idSign(r) || r == '.' || r == '/' {
		return unicode.IsLetter(r)
	}
	prev, _ := utf8.DecodeLastRuneInString(digits[:len(digits)-n])
	return unicode.IsLetter(prev)
}
