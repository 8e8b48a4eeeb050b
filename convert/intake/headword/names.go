package headword

import (
	"bytes"
	"slices"
	"strings"
	"unicode"

	"dropcut/plan/unit"
)

// Naming is what a title, a heading or a sheet's name says of the tank.
type Naming struct {
	Names    []string // more than one for a manifolded set
	Combined bool
	Text     string // as it stands there
}

// Name joins the names of a manifolded set.
func (n Naming) Name() string { return strings.Join(n.Names, "+") }

// genericTabs are names of sheets that name no tank, folded; figures behind
// them are left out.
var genericTabs = []string{
	"sheet", "tabelle", "hoja", "feuil", "feuille", "blatt", "chart", "charts", "calibration", "calibrations", "table", "tables", "data", "tank chart", "tank charts",
	"strapping", "dip", "dip chart", "dip charts", "strap chart", "strap charts", "tabla", "tablas", "bareme", "baremes", "peiltabelle", "peiltabellen", "book", "export", "page", "tanks", "tank list", "tank",
	"calibration chart", "calibration charts", "tank calibration", "tank data", "gauge chart", "gauge charts", "matrix", "ullage", "summary", "volumes", "depths", "all", "all tanks", "print", "printout",
}

func GenericTab(s string) bool {
	f := strings.TrimRight(unit.Fold(s), "0123456789 ()")
	if f == "tank" && f != unit.Fold(s) {
		return false // "Tank 4"
	}
	if f == "" && strings.Trim(s, "0123456789") == "" && s != "" {
		return false // "014": a number alone is somebody's choice
	}
	return f == "" || slices.Contains(genericTabs, f)
}

var combinedWords = []string{"manifold", "combined", "siphon", "syphon", "connected", "twinned", "jumele", "verbunden", "combinad", "conectad", "interconect"}

func SaysCombined(s string) bool {
	f := unit.Fold(s)
	return slices.ContainsFunc(combinedWords, func(w string) bool { return strings.Contains(f, w) })
}

// TankWord reports whether a folded word is one for tanks.
func TankWord(w string) bool {
	switch w {
	case "tank", "tanks", "tanque", "tanques", "deposito", "depositos", "estanque", "cuve", "cuves", "reservoir", "reservoirs", "citerne", "citernes", "behalter", "behaelter", "lagertank", "lagerbehalter", "lagerbehaelter", "erdtank", "tk", "vessel", "ust", "ast":
		return true
	}
	return false
}

// SaysComputed reports whether a text says that a chart was computed and measured
// by nobody, as convert writes it beside each such chart.
func SaysComputed(s []byte) bool {
	return bytes.Contains(s, []byte("measured by nobody"))
}

// Known are the ids of a list of tanks, as it writes them.
type Known map[string]bool

// KnownIDs makes Known of ids.
func KnownIDs(ids ...string) Known {
	k := make(Known, len(ids))
	for _, id := range ids {
		k[id] = true
	}
	return k
}

// IdWord reports whether a word may be an id: it holds a figure, or is a letter
// or a few capitals.
func IdWord(w string, known Known) bool {
	if w == "" || len(w) > 40 {
		return false
	}
	if known[w] {
		return true
	}
	t := ChartWordTable()
	f := unit.Fold(w)
	if _, is := t.Roles[f]; (is || t.quiet[f]) && f != "h" || TankWord(f) || SaysCombined(f) {
		return false
	}
	figure, upper, letters := false, 0, 0
	for _, r := range w {
		switch {
		case unicode.IsDigit(r):
			figure = true
		case unicode.IsUpper(r):
			upper++
			letters++
		case unicode.IsLetter(r):
			letters++
		case !IdSign(r):
			return false
		}
	}
	if figure {
		return true
	}
	return letters > 0 && upper == letters && letters <= 8 && !slices.Contains(genericTabs, f)
}

func IdSign(r rune) bool {
	switch r {
	case '-', '–', '—', '‐', '‑', '−', '/', '_', '.', '#':
		return true
	}
	return false
}

// andWord reports whether a word joins two ids.
func andWord(w string) bool {
	switch unit.Fold(w) {
	case "and", "&", "+", "y", "et", "und", "e", ",", "with":
		return true
	}
	return false
}

// IdTokens cuts a text into words at blanks and at the signs that end an id.
func IdTokens(s string) []string {
	var out []string
	for _, f := range strings.FieldsFunc(s, IsBlank) {
		start := 0
		for i, r := range f {
			switch r {
			case ',', ';', ':', '(', ')', '[', ']', '&', '+', '"', '=', '|':
				if i > start {
					out = append(out, f[start:i])
				}
				out = append(out, string(r))
				start = i + len(string(r))
			}
		}
		if start < len(f) {
			out = append(out, f[start:])
		}
	}
	for i, w := range out {
		if len(w) > 1 {
			out[i] = strings.TrimRight(w, ".")
		}
	}
	return out
}

// ReadName looks for the tank that a title or a heading names. With loose set,
// the whole text may be the name (of a sheet, of a column).
func ReadName(text string, known Known, loose bool) (n Naming, ok bool) {
	text = Tidy(text)
	if text == "" || len(text) > 200 {
		return n, false
	}
	n.Text = text
	n.Combined = SaysCombined(text)
	if known[text] {
		n.Names = []string{text}
		return n, true
	}
	ts := IdTokens(text)
	if n.Combined {
		// "5A/5B combined"
		for _, w := range ts {
			if set := strings.Split(w, "/"); len(set) > 1 && !known[w] && !slices.ContainsFunc(set, func(p string) bool { return !IdWord(p, known) }) {
				n.Names = set
				return n, true
			}
		}
	}
	for i, w := range ts {
		if !TankWord(withoutNumber(unit.Fold(strings.TrimRight(w, "#.-")))) {
			continue
		}
		plural := strings.HasSuffix(unit.Fold(w), "s")
		j := i + 1
		chart := false // "Tank chart EK-9"; a number there may be a year or a page
		for j < len(ts) && j <= i+2 && chartWord(unit.Fold(ts[j])) {
			chart = true
			j++
		}
		for k := j; j < len(ts) && j <= k+2; {
			f := unit.Fold(strings.TrimRight(ts[j], ".°º"))
			if f != "no" && f != "nr" && f != "n" && f != "number" && f != "id" && f != "#" && f != ":" && f != "-" && f != "name" && f != "numero" && f != "nummer" && f != "ref" && f != "=" && f != "–" && f != "\"" {
				break
			}
			j++
		}
		if names := IdList(ts[min(j, len(ts)):], known, plural || n.Combined); len(names) > 0 && !ofMeasure(ts[min(j, len(ts)):]) && (!chart || mixed(names[0])) {
			n.Names = names
			n.Combined = n.Combined || len(names) > 1
			return n, true
		}
	}
	// A known id may stand anywhere.
	for i, w := range ts {
		if known[w] {
			n.Names = IdList(ts[i:], known, n.Combined)
			n.Combined = n.Combined || len(n.Names) > 1
			return n, true
		}
	}
	if !loose {
		return n, false
	}
	if names := IdList(ts, known, true); len(names) > 1 {
		n.Names, n.Combined = names, true
		return n, true
	}
	n.Names = []string{text}
	n.Combined = false
	return n, true
}

// withoutNumber takes the word for a number off one for a tank: "Behälter-Nr".
func withoutNumber(w string) string {
	for _, s := range [...]string{"-nr", "-no", "-id", "-nummer"} {
		if cut, ok := strings.CutSuffix(w, s); ok {
			return cut
		}
	}
	return w
}

// chartWord reports whether a folded word is one for charts.
func chartWord(w string) bool {
	switch w {
	case "chart", "calibration", "table", "gauge", "dip", "strapping":
		return true
	}
	return false
}

// mixed reports whether a word holds both letters and figures, as most ids do,
// and is neither a size nor the mark of a revision or a page.
func mixed(w string) bool {
	f := unit.Fold(w)
	for _, p := range [...]string{"rev", "page", "sheet", "no", "dwg", "vol"} {
		if strings.HasPrefix(f, p) {
			return false
		}
	}
	figure, letter := false, false
	for i, r := range f {
		switch {
		case unicode.IsDigit(r):
			figure = true
		case (r == 'x' || r == '×') && i > 0 && figure && !letter:
			return false // 96x320
		case unicode.IsLetter(r):
			letter = true
		}
	}
	return figure && letter && len(w) <= 16
}

// LoneID reads a title that holds one id and, beside it, nothing but words for
// what a chart holds and its units: "OB-1", "ND-3 gallons".
func LoneID(text string) (n Naming, ok bool) {
	if ts := IdTokens(text); len(ts) > 2 && ts[1] == ":" && mixed(ts[0]) && IdWord(ts[0], nil) {
		return Naming{Names: ts[:1], Text: text}, true // "JK-8: heights in cm"
	}
	h := Read(text)
	if !mixed(h.Rest) || !IdWord(h.Rest, nil) || GenericTab(h.Rest) || SaysCombined(text) {
		return n, false
	}
	return Naming{Names: []string{h.Rest}, Text: text}, true
}

// ofMeasure reports whether the number that follows the word for tanks is one
// of a size: "Tank 96 in x 26 ft".
func ofMeasure(ts []string) bool {
	if len(ts) < 2 || strings.Trim(ts[0], "0123456789.,") != "" {
		return false
	}
	found := unit.FindUnits(ts[0] + " " + ts[1])
	return len(found) > 0 && found[0].OfNumber
}

// IdList reads ids joined by "and", "&", "+" or, in a set, commas.
func IdList(ts []string, known Known, set bool) []string {
	var names []string
	for i := 0; i < len(ts); i++ {
		w := strings.TrimLeft(ts[i], "#")
		if !IdWord(w, known) {
			break
		}
		names = append(names, w)
		if i+1 >= len(ts) || !andWord(ts[i+1]) || ts[i+1] == "," && !set {
			break
		}
		i++
	}
	return names
}

// ChartName joins a tank's name and its compartment's.
func ChartName(tank, comp string) string {
	switch {
	case comp == "":
		return tank
	case tank == "":
		return comp
	case strings.HasPrefix(comp, tank+"/"):
		return comp
	}
	return tank + "/" + comp
}
