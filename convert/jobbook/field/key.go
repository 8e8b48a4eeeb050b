package field

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"math"
	"strconv"
	"strings"

	"dropcut/validate"
)

// KeyWord begins every key; Gap stands between its parts.
const (
	KeyWord = "dropcut page"
	Gap     = " | "
	// FormulaWords stand between the number of a page's formulas and its unit.
	FormulaWords = " formulas, "
)

// PageKey names a page: its tank and the plan that it was made from.
func PageKey(kind, unit string, r *validate.Result, formulas int) string {
	return strings.Join([]string{KeyWord, kind, r.Tank.Site.Raw, r.Tank.ID.Raw, PlanHash(r), strconv.Itoa(formulas) + FormulaWords + unit}, Gap)
}

// PlanHash is a short word made from everything that a plan rests on and comes
// to: another chart, another measure or another cut is another word.
func PlanHash(r *validate.Result) string {
	h := sha256.New()
	put := func(v ...float64) {
		for _, x := range v {
			// Noise in the last digits is not another plan.
			x = math.Round(x*1e6) / 1e6
			_ = binary.Write(h, binary.LittleEndian, x) // a hash takes everything
		}
	}
	t, c := r.Tank, &r.Cut
	fmt.Fprintf(h, "%q %q %q %q", t.Site.Raw, t.ID.Raw, t.Product.Raw, r.Status)
	put(float64(t.RiserHeight.V), float64(t.FaceToBottom.V), float64(t.Diameter.V), float64(t.Rise.V), float64(t.FillStation.V), float64(t.CutAngle.V), float64(t.Clearance.V))
	put(float64(c.FullVolume.V), float64(c.LimitPercent.V), float64(c.Target.V), float64(c.UpperTube.V), float64(c.LowerTube.V), float64(c.DropLength.V), float64(c.ShutoffDepth.V))
	if d := r.Device; d != nil {
		fmt.Fprintf(h, "%q", d.Name.V)
		put(float64(d.ShutoffDrop.V), float64(d.BodyLength.V), float64(d.LeastBelowTop.V), float64(d.LeastUpperTube.V), float64(d.TestPressure.V))
		for _, j := range d.Joints {
			put(float64(j.Least.V), float64(j.Most.V))
		}
	}
	if r.Chart != nil {
		for i := range r.Chart.Rows {
			put(r.Chart.Rows[i].Depth, r.Chart.Rows[i].Volume)
		}
	}
	return "plan " + hex.EncodeToString(h.Sum(nil)[:4])
}

// Name gives the name of a field of tank n.
func Name(n int, key string) string { return fmt.Sprintf("t%d_%s", n, key) }

// KeyField begins the names of the cells that hold keys.
const KeyField = "key_"

// FieldName takes the name of a field apart: t2_riser is that of tank 2.
func FieldName(s string) (number int, key string, ok bool) {
	rest, ok := strings.CutPrefix(strings.ToLower(s), "t")
	if !ok {
		return 0, "", false
	}
	digits, key, ok := strings.Cut(rest, "_")
	number, err := strconv.Atoi(digits)
	return number, key, ok && err == nil && number >= 0 && key != ""
}
