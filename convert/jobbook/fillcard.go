package jobbook

import (
	"strings"

	"dropcut/convert/drawing"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// fillCard is the page that is left at the site: what each tank takes.
func (m *maker) fillCard() {
	s := m.add("Fill card", 12)
	s.Landscape = true
	s.Height(1, 40)
	span(s, 1, 1, wide, cardTitle, "FILL CARD   "+m.job.Name)
	s.Height(2, 20)
	span(s, 1, 2, wide, subtitle, "Read the stick first. Deliver less than the room left below the most. Stay at the fill.")
	s.Height(4, 44)
	u := m.job.Units.Volume
	heads := [...]struct {
		col, to int
		text    string
	}{{1, 2, "tank"}, {3, 4, "product"}, {5, 6, "full, " + u.String()}, {7, 8, "most, " + u.String()}, {9, 10, "flow stops at level"}, {11, 12, "alarm at"}}
	for _, h := range heads {
		span(s, h.col, 4, h.to, cardHead, h.text)
	}
	row := 4
	for _, r := range m.job.Results {
		row++
		s.Height(row, 36)
		span(s, 1, row, 2, cardNumber, r.Tank.ID.Raw)
		span(s, 3, row, 4, cardCell, r.Tank.Product.Raw)
		c := &r.Cut
		full, most, stops, alarm := "", "", "", ""
		if c.FullVolume.Known {
			full = unit.GroupedText(unit.VolumeText(c.FullVolume.V, u, 0))
		}
		switch {
		case r.Status == validate.Stop:
			stops = "DO NOT CUT"
		case c.ShutoffDepth.Known:
			stops = m.lengthShort(c.ShutoffDepth.V)
			if !c.UpperTube.Known {
				stops = "planned " + stops
			}
		}
		if c.LimitVolume.Known && r.Status != validate.Stop {
			most = unit.GroupedText(unit.VolumeText(c.LimitVolume.V, u, 0))
		}
		if c.AlarmDepth.Known {
			alarm = m.lengthShort(c.AlarmDepth.V)
		}
		span(s, 5, row, 6, cardCell, full)
		span(s, 7, row, 8, cardNumber, most)
		span(s, 9, row, 10, cardCell, stops)
		span(s, 11, row, 12, cardCell, alarm)
	}
	row += 2
	s.Height(row, 34)
	span(s, 1, row, 3, label, "Installed and checked on")
	span(s, 4, row, 6, signLine, "")
	span(s, 7, row, 9, label, "by (name, license)")
	span(s, 10, row, wide, signLine, "")
	row++
	s.Height(row, 40)
	span(s, 1, row, wide, caution, strings.Join(m.texts["cautions"], " "))
	s.Print(wide, row)
}

// unitsOf are the units of a job's pages: those of its first chart, or the ones
// that were asked for.
func unitsOf(r *validate.Result, asked drawing.Units) drawing.Units {
	u := asked
	if u.Length == unit.LengthUnknown {
		u.Length = unit.Inches
		if r.Chart != nil && r.Chart.DepthUnit.Metric() {
			u.Length = unit.Millimetres
		}
	}
	if u.Volume == unit.VolumeUnknown {
		u.Volume = unit.USGallons
		if r.Chart != nil && r.Chart.VolumeUnit != unit.VolumeUnknown {
			u.Volume = r.Chart.VolumeUnit
		}
	}
	return u
}
