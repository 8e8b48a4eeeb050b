package parts

import (
	"strings"
	"testing"

	"dropcut/convert/grid"
)

// The codes of ids are those of ECMA-376 Part 1, 18.8.30 (all languages, then
// the ids that East Asian and Thai books use).
func TestBuiltinFormats(t *testing.T) {
	for id, want := range map[int]grid.Format{
		0: grid.Plain, 1: grid.Plain, 2: grid.Plain, 3: grid.Plain, 4: grid.Plain,
		9: grid.PercentFormat, 10: grid.PercentFormat, 11: grid.Plain, 12: grid.FractionFormat, 13: grid.FractionFormat,
		14: grid.DateFormat, 15: grid.DateFormat, 16: grid.DateFormat, 17: grid.DateFormat, 18: grid.DateFormat, 19: grid.DateFormat, 20: grid.DateFormat, 21: grid.DateFormat, 22: grid.DateFormat,
		27: grid.DateFormat, 31: grid.DateFormat, 36: grid.DateFormat, 37: grid.Plain, 38: grid.Plain, 40: grid.Plain,
		45: grid.DateFormat, 46: grid.DateFormat, 47: grid.DateFormat, 48: grid.Plain, 49: grid.Plain, 50: grid.DateFormat, 58: grid.DateFormat,
		59: grid.Plain, 62: grid.Plain, 67: grid.PercentFormat, 68: grid.PercentFormat, 69: grid.FractionFormat, 70: grid.FractionFormat, 71: grid.DateFormat, 81: grid.DateFormat, 163: grid.Plain,
	} {
		if got := builtinFormat(id); got != want {
			t.Errorf("id %d is %d, want %d", id, got, want)
		}
	}
}

// The first group are the codes of ECMA-376 Part 1, 18.8.30 and the examples of
// 18.8.31; the others are made up by its rules.
var formatCodes = []struct {
	code string
	want grid.Format
}{
	{"0%", grid.PercentFormat},
	{"0.00%", grid.PercentFormat},
	{"0.00E+00", grid.Plain},
	{"##0.0E+0", grid.Plain},
	{"# ?/?", grid.FractionFormat},
	{"# ??/??", grid.FractionFormat},
	{"mm-dd-yy", grid.DateFormat},
	{"d-mmm-yy", grid.DateFormat},
	{"d-mmm", grid.DateFormat},
	{"mmm-yy", grid.DateFormat},
	{"h:mm AM/PM", grid.DateFormat},
	{"h:mm:ss", grid.DateFormat},
	{"[h]:mm:ss", grid.DateFormat},
	{"mmss.0", grid.DateFormat},
	{"mm:ss.000", grid.DateFormat},
	{"m/d/yy h:mm", grid.DateFormat},
	{"#,##0 ;[Red](#,##0)", grid.Plain},
	{"@", grid.Plain},
	{"General", grid.Plain},
	{`yyyy"年"m"月"d"日"`, grid.DateFormat},
	{"[$-404]e/m/d", grid.DateFormat},
	{`[$-411]ge.m.d`, grid.DateFormat},
	{"t# ??/??", grid.FractionFormat},
	{"d/m/bb", grid.DateFormat},
	{`0.00_);[Red]\(0.00\)`, grid.Plain},

	{`0.0" in"`, grid.Plain},
	{`0.0\ \i\n`, grid.Plain},
	{`0" days"`, grid.Plain},
	{`General" mm"`, grid.Plain},
	{`0.0 mm`, grid.Plain},
	{`#,##0\ \g\a\l`, grid.Plain},
	{`# ?/16`, grid.FractionFormat},
	{`# ??/100`, grid.FractionFormat},
	{`#\ ?/8\"`, grid.FractionFormat},
	{`# 0/16`, grid.FractionFormat},
	{`?/?`, grid.FractionFormat},
	{`0' 0/0"/"`, grid.FractionFormat},
	{`0"/"0`, grid.Plain},
	{`[$-F800]dddd\,\ mmmm\ dd\,\ yyyy`, grid.DateFormat},
	{`[$-409]m/d/yy h:mm AM/PM;@`, grid.DateFormat},
	{`h:mm A/P`, grid.DateFormat},
	{`[mm]:ss`, grid.DateFormat},
	{`[Red]0.0`, grid.Plain},
	{`[Magenta][>=95]0%;0.0`, grid.PercentFormat},
	{`[<100]0.00;0.0%`, grid.Plain},
	{`[$€-407] #,##0.00`, grid.Plain},
	{`[$hms]0`, grid.Plain},
	{`_-* #,##0.00\ _D_M_-;\-* #,##0.00\ _D_M_-`, grid.Plain},
	{`0;;;@`, grid.Plain},
	{`0.0;m/d`, grid.DateFormat},
	{`YYYY-MM-DD`, grid.DateFormat},
	{`aaaa`, grid.DateFormat},
	{`0.0"unfinished`, grid.Plain},
	{`[unfinished`, grid.Plain},
	{`\`, grid.Plain},
	{``, grid.Plain},
	{`;;;`, grid.Plain},
}

func TestFormatCodes(t *testing.T) {
	names := [...]string{"plain", "date", "percent", "fraction"}
	for _, c := range formatCodes {
		if got := formatOf(c.code); got != c.want {
			t.Errorf("%q is taken for a %s format, want %s", c.code, names[got], names[c.want])
		}
	}
}

func FuzzFormatCode(f *testing.F) {
	for _, c := range formatCodes {
		f.Add(c.code)
	}
	f.Fuzz(func(t *testing.T, code string) {
		formatOf(code)
		// Quoted text never changes what a format is.
		if !strings.ContainsAny(code, `"\_*[`) {
			if a, b := formatOf(code), formatOf(code+`"ymd%?/?"`); a != b {
				t.Fatalf("%q is %d, with quoted text behind it %d", code, a, b)
			}
		}
	})
}
