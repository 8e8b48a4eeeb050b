package extract

import (
	"fmt"

	"dropcut/convert/intake/figures"
	"dropcut/convert/intake/layout"
	"dropcut/convert/intake/look"
	"dropcut/convert/intake/survey"
	"dropcut/plan/finding"
)

// DatesAcross reports heads of a matrix that a spreadsheet took for dates. The
// chart's depths hang on them.
func (e *Reader) DatesAcross(w *look.Window, m *layout.Matrix) {
	from, to := e.r.At, e.r.At
	from.Row, to.Row = w.Lines[m.Head].N, w.Lines[m.Head].N
	from.Col, to.Col = m.Dates[0], m.Dates[len(m.Dates)-1]
	list := ""
	for k, x := range m.Xs {
		for _, d := range m.Dates {
			if d == x {
				if list != "" {
					list += ", "
				}
				list += figures.FractionText(m.Parts[k] * m.Ratio)
			}
		}
	}
	e.aboutAll(finding.Finding{
		Slug: finding.DepthTurnedIntoDate, Severity: finding.Stop, At: from, To: to,
		Found: fmt.Sprintf("%s in the heading where parts of a depth belong", survey.Many(len(m.Dates), "date")), Expected: "fractions",
		Why:        "a spreadsheet takes a fraction such as 1/8 for a day of the year",
		Suggestion: "type the fractions again into cells with a number format; probably meant: " + list,
	})
}
