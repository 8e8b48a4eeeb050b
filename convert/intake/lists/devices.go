package lists

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"dropcut/convert/grid"
	"dropcut/convert/intake/headword"
	"dropcut/convert/intake/sheetkind"
	"dropcut/convert/intake/survey"
	"dropcut/plan/cell"
	"dropcut/plan/device"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
)

// jointColumn is one of the columns "Joint 1 name", "Joint 1 least torque
// (lbf.ft)", "Joint 1 most torque".
type jointColumn struct {
	n    int
	part string // "name", "least", "most"
	col  *sheetkind.Column
}

// jointPart tells the columns of single joints from their headings.
func jointPart(text string) (n int, part string, ok bool) {
	joint, torque := false, false
	for _, w := range headword.HeadingWords(text) {
		switch w {
		case "joint", "junta", "verbindung":
			joint = true
		case "torque", "par", "couple", "drehmoment", "anzugsmoment", "tightening":
			torque = true
		case "least", "most":
			part = w
		case "name", "nombre":
			part = "name"
		default:
			if k := 0; len(w) <= 2 && strings.Trim(w, "0123456789") == "" {
				fmt.Sscanf(w, "%d", &k)
				n = k
			}
		}
	}
	if part == "" && !torque {
		part = "name"
	}
	return n, part, joint && n > 0 && part != ""
}

// ReadDevices reads a Devices sheet. A figure that is missing is simply not
// given; one that cannot be read is a finding, and not given either.
func ReadDevices(sh grid.Sheet, h *sheetkind.Head, hd *sheetkind.Header, out *survey.Findings) ([]device.Device, survey.Table, error) {
	tb := ListTable(sh.At(), "devices", hd)
	var joints []jointColumn
	for i := range hd.Cols {
		c := &hd.Cols[i]
		if n, part, ok := jointPart(c.Text); ok && (!c.Known || c.Field.Field == headword.FieldJoints) {
			c.Known = false
			hd.Found = nil // it was asked for before
			joints = append(joints, jointColumn{n, part, c})
			for k := range tb.Columns {
				if tb.Columns[k].Col == c.Col {
					tb.Columns[k].Means = fmt.Sprintf("joint %d, %s", n, part)
				}
			}
		}
	}
	var rows []sheetkind.Row
	for r, err := range sh.Rows() {
		if err != nil {
			return nil, tb, err
		}
		if r.N > max(hd.Last, hd.Units) {
			rows = append(rows, sheetkind.KeepRow(r))
		}
	}
	v := settle(sh.At(), h, hd, rows)
	for _, j := range joints {
		var vote unit.DecimalVote
		for i := range rows {
			if c := rows[i].At(j.col.Col); c != nil && c.Kind == grid.Text {
				vote.AddString(c.Text)
			}
		}
		v.dec[j.col.Col], _ = vote.Result()
	}
	var list []device.Device
	for i := range rows {
		r := &rows[i]
		name := r.At(hd.Col(headword.FieldDeviceName))
		if empty(name, headword.KindText) || sound(name).bad() {
			tb.Pass(r.N, "no device is named in it")
			continue
		}
		if len(r.Cells) == 1 {
			tb.Pass(r.N, "a title: one text and nothing else")
			continue
		}
		d := device.Device{At: cell.Ref{File: sh.At().File, Sheet: sh.At().Sheet, Row: r.N}}
		d.Name = cell.Of[string]{V: headword.Tidy(name.Text), Raw: name.Text, At: v.ref(name)}
		dr := deviceReader{v, hd, r, out, &d}
		dr.length(headword.FieldShutoffDrop, &d.ShutoffDrop)
		dr.length(headword.FieldLeastBelowTop, &d.LeastBelowTop)
		dr.length(headword.FieldLeastUpper, &d.LeastUpperTube)
		dr.length(headword.FieldBodyLength, &d.BodyLength)
		dr.length(headword.FieldTubeDiameter, &d.TubeDiameter)
		dr.length(headword.FieldLeastBore, &d.LeastRiserBore)
		dr.length(headword.FieldArmSpace, &d.ArmSpace)
		dr.length(headword.FieldTestExtra, &d.TestExtra)
		dr.length(headword.FieldLeastClearance, &d.LeastClearance)
		dr.length(headword.FieldCutStep, &d.CutStep)
		dr.length(headword.FieldStockUpper, &d.StockUpper)
		dr.length(headword.FieldStockLower, &d.StockLower)
		dr.pressure()
		dr.joints(joints)
		if c := dr.cell(headword.FieldSource, headword.KindText); c != nil && !sound(c).bad() {
			d.Source = cell.Of[string]{V: headword.Tidy(c.Text), Raw: c.Text, At: v.ref(c)}
		}
		tb.Take(r.N)
		list = append(list, d)
	}
	return list, tb, nil
}

// deviceReader reads the figures of one row.
type deviceReader struct {
	*values
	hd  *sheetkind.Header
	row *sheetkind.Row
	out *survey.Findings
	d   *device.Device
}

// cell gives the first filled cell of a field's columns, nil for none.
func (r *deviceReader) cell(f headword.Field, k headword.Kind) *sheetkind.Cell {
	for _, col := range r.hd.Find(f) {
		if c := r.row.At(col.Col); !empty(c, k) {
			return c
		}
	}
	return nil
}

func (r *deviceReader) say(c *sheetkind.Cell, f string, bad misread) {
	sev := finding.Check
	if f == string(headword.FieldTestExtra) {
		sev = finding.Stop // a tube without it shuts off higher
	}
	r.out.Add(finding.Finding{
		Slug: bad.slug, Severity: sev, At: r.ref(c), Found: fmt.Sprintf("device %s, %s %s", r.d.Name.V, f, survey.Quote(headword.Tidy(c.Text))),
		Expected: bad.expected, Why: bad.why, Suggestion: bad.suggestion + "; until then the figure counts as not given",
	})
}

func (r *deviceReader) length(f headword.Field, to *cell.Of[unit.Length]) {
	var first *sheetkind.Cell
	for _, col := range r.hd.Find(f) {
		c := r.row.At(col.Col)
		if empty(c, headword.KindLength) {
			if crossed(c) {
				r.say(c, string(f), r.unreadable("a length", "an x is no figure", `write it as in 2 3/8"`))
			}
			continue
		}
		l, bad := r.lengthIn(c, col, 0)
		if bad.bad() {
			r.say(c, string(f), bad)
			continue
		}
		if first == nil {
			first, *to = c, l
			continue
		}
		if !NearLength(to.V, l.V) {
			r.out.Add(finding.Finding{
				Slug: finding.ValuesDiffer, Severity: finding.Check, At: r.ref(c), Related: []cell.Ref{r.ref(first)},
				Found:    fmt.Sprintf("device %s, %s %s and %s", r.d.Name.V, f, survey.Quote(headword.Tidy(first.Text)), survey.Quote(headword.Tidy(c.Text))),
				Expected: "the same value in both columns", Why: "two columns mean the same; the figure counts as not given", Suggestion: "see the data sheet and correct one of them",
			})
			*to = cell.Of[unit.Length]{}
			return
		}
	}
}

func (r *deviceReader) pressure() {
	for _, col := range r.hd.Find(headword.FieldTestPressure) {
		c := r.row.At(col.Col)
		if empty(c, headword.KindPressure) || r.d.TestPressure.Given() {
			continue
		}
		p, bad := r.pressureIn(c, col)
		if bad.bad() {
			r.say(c, string(headword.FieldTestPressure), bad)
			continue
		}
		r.d.TestPressure = p
	}
}

// joints reads the columns of single joints, in the order of their numbers, or
// else the one column that lists them.
func (r *deviceReader) joints(cols []jointColumn) {
	byNumber := map[int]*device.Joint{}
	var numbers []int
	for _, j := range cols {
		c := r.row.At(j.col.Col)
		if empty(c, headword.KindText) || sound(c).bad() {
			continue
		}
		joint := byNumber[j.n]
		if joint == nil {
			joint = &device.Joint{Name: fmt.Sprintf("joint %d", j.n)}
			byNumber[j.n] = joint
			numbers = append(numbers, j.n)
		}
		if j.part == "name" {
			joint.Name = headword.Tidy(c.Text)
			continue
		}
		q, err := unit.ParseTorque(c.Text, headingTorque(j.col.Text), r.decOf(c, j.col))
		if err != nil {
			r.say(c, fmt.Sprintf("joint %d, %s torque", j.n, j.part), r.fromError(err, "18 lbf.ft"))
			continue
		}
		to := &joint.Least
		if j.part == "most" {
			to = &joint.Most
		}
		*to = cell.Of[unit.Torque]{V: q, Raw: c.Text, At: r.ref(c)}
	}
	slices.Sort(numbers)
	for _, n := range numbers {
		r.d.Joints = append(r.d.Joints, *byNumber[n])
	}
	if len(numbers) > 0 {
		r.rangesRunUp()
		return
	}
	c := r.cell(headword.FieldJoints, headword.KindText)
	if c == nil || sound(c).bad() {
		return
	}
	for part := range strings.FieldsFuncSeq(c.Text, func(x rune) bool { return x == ';' || x == '\n' || x == '\r' || x == '|' }) {
		if part = strings.TrimFunc(part, headword.IsBlank); part == "" {
			continue
		}
		joint, bad := r.jointText(part, c)
		if bad.bad() {
			r.say(c, string(headword.FieldJoints), bad)
			r.d.Joints = nil // an order with a hole in it misleads
			return
		}
		r.d.Joints = append(r.d.Joints, joint)
	}
	r.rangesRunUp()
}

// rangesRunUp drops torque ranges whose least is above their most.
func (r *deviceReader) rangesRunUp() {
	for i := range r.d.Joints {
		j := &r.d.Joints[i]
		if !j.Least.Given() || !j.Most.Given() || j.Least.V <= j.Most.V {
			continue
		}
		r.out.Add(finding.Finding{
			Slug: finding.ValueUnreadable, Severity: finding.Check, At: j.Most.At, Found: fmt.Sprintf("device %s, %s: least torque above the most", r.d.Name.V, j.Name),
			Expected: "a range that runs from the least to the most torque", Why: "no torque lies in it", Suggestion: "see the data sheet and correct the range; until then it counts as not given",
		})
		j.Least, j.Most = cell.Of[unit.Torque]{}, cell.Of[unit.Torque]{}
	}
}

// A joint as text: "lower joint 18 to 26 lbf.ft", "riser cap: 8-12 ft-lb". A
// single torque is both ends of its range.
var (
	jointRange  = regexp.MustCompile(`^(.*?)[\s:,]+(\d+(?:[.,]\d+)?)\s*(?:-|–|—|\.\.\.?|…|to|bis|a|à|und|and)\s*(\d+(?:[.,]\d+)?)\s*(\pL.*)?$`)
	jointSingle = regexp.MustCompile(`^(.*?)[\s:,]+(\d+(?:[.,]\d+)?)\s*(\pL.*)?$`)
)

func (r *deviceReader) jointText(s string, c *sheetkind.Cell) (device.Joint, misread) {
	want := `a name and a torque range, as in lower joint 18 to 26 lbf.ft`
	var name, least, most, unitText string
	if m := jointRange.FindStringSubmatch(s); m != nil {
		name, least, most, unitText = m[1], m[2], m[3], m[4]
	} else if m := jointSingle.FindStringSubmatch(s); m != nil {
		name, least, most, unitText = m[1], m[2], m[2], m[3]
	} else {
		return device.Joint{}, r.unreadable(want, survey.Quote(s)+" holds no torque", "write it so, the joints parted by semicolons, from the tank up")
	}
	in, ok := unit.TorqueUnit(unitText)
	if !ok {
		if in = headingTorque(r.headingOf(c.Col)); in == 0 || unitText != "" {
			return device.Joint{}, r.unreadable(want, survey.Quote(s)+" names no unit of torque that is known here", "write lbf.ft, in-lb or N·m behind the figures")
		}
	}
	dec := unit.DecimalPoint
	if strings.Contains(least+most, ",") {
		dec = unit.DecimalComma
	}
	lo, lerr := unit.ParseTorque(least, in, dec)
	hi, herr := unit.ParseTorque(most, in, dec)
	if lerr != nil || herr != nil {
		return device.Joint{}, r.unreadable(want, survey.Quote(s)+" cannot be read", "write it so")
	}
	at := r.ref(c)
	return device.Joint{
		Name:  headword.Tidy(strings.TrimRight(name, " :,")),
		Least: cell.Of[unit.Torque]{V: lo, Raw: least, At: at}, Most: cell.Of[unit.Torque]{V: hi, Raw: most, At: at},
	}, misread{}
}

func (r *deviceReader) headingOf(col int) string {
	for i := range r.hd.Cols {
		if r.hd.Cols[i].Col == col {
			return r.hd.Cols[i].Text
		}
	}
	return ""
}

// sameDevice compares the figures of two rows with one name.
func sameDevice(a, b *device.Device) bool {
	return a.ShutoffDrop.V == b.ShutoffDrop.V && a.LeastBelowTop.V == b.LeastBelowTop.V && a.LeastUpperTube.V == b.LeastUpperTube.V && a.BodyLength.V == b.BodyLength.V &&
		a.TubeDiameter.V == b.TubeDiameter.V && a.LeastRiserBore.V == b.LeastRiserBore.V && a.ArmSpace.V == b.ArmSpace.V && a.TestExtra.V == b.TestExtra.V &&
		a.LeastClearance.V == b.LeastClearance.V && a.CutStep.V == b.CutStep.V && a.TestPressure.V == b.TestPressure.V &&
		slices.EqualFunc(a.Joints, b.Joints, func(x, y device.Joint) bool {
			return x.Name == y.Name && x.Least.V == y.Least.V && x.Most.V == y.Most.V
		})
}

// OneOfEach drops the second of two devices with the same name and figures. Of
// two with different figures neither can be trusted: both lose theirs, so that
// nothing is cut by the wrong one.
func OneOfEach(list []device.Device, out *survey.Findings) []device.Device {
	first := map[string]int{}
	spoiled := map[int]bool{}
	var kept []device.Device
	for i := range list {
		d := &list[i]
		key := unit.Fold(d.Name.V)
		k, ok := first[key]
		if !ok {
			first[key] = len(kept)
			kept = append(kept, *d)
			continue
		}
		if sameDevice(&kept[k], d) && !spoiled[k] {
			continue
		}
		out.Add(finding.Finding{
			Slug: finding.DuplicateDevice, Severity: finding.Check, At: d.Name.At, Related: []cell.Ref{kept[k].Name.At},
			Found: "device " + d.Name.V + " twice, with different figures", Expected: "one row a device",
			Why: "nobody can say which row holds, so that neither is used", Suggestion: "see the data sheet and delete the row that does not hold",
		})
		spoiled[k] = true
	}
	out2 := kept[:0]
	for i := range kept {
		if !spoiled[i] {
			out2 = append(out2, kept[i])
		}
	}
	return out2
}
