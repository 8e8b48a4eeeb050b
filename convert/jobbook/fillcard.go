package jobbook

import (
	"strings"

	"dropcut/convert/jobbook/look"

	"dropcut/plan/unit"
	"dropcut/validate"
)

// fillCard is the page that is left at the site: what each tank takes.
func (m *maker) fillCard() {
	s := m.add("Fill card", 12)
	s.Landscape = true
	s.Height(1, 40)
	s.Span(1, 1, wide, look.CardTitle, "FILL CARD   "+m.job.Name)
	s.Height(2, 20)
	s.Span(1, 2, wide, look.Subtitle, "Read the stick first. Deliver less than the room left below the most. Stay at the fill.")
	s.Height(4, 44)
	u := m.job.Units.Volume
	heads := [...]struct {
		col, to int
		text    string
	}{{1, 2, "tank"}, {3, 4, "product"}, {5, 6, "full, " + u.String()}, {7, 8, "most, " + u.String()}, {9, 10, "flow stops at level"}, {11, 12, "alarm at"}}
	for _, h := range heads {
		s.Span(h.col, 4, h.to, look.CardHead, h.text)
	}
	row := 4
	for _, r := range m.job.Results {
		row++
		s.Height(row, 36)
		s.Span(1, row, 2, look.CardNumber, r.Tank.ID.Raw)
		s.Span(3, row, 4, look.CardCell, r.Tank.Product.Raw)
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
		s.Span(5, row, 6, look.CardCell, full)
		s.Span(7, row, 8, look.CardNumber, most)
		s.Span(9, row, 10, look.CardCell, stops)
		s.Span(11, row, 12, look.CardCell, alarm)
	}
	row += 2
	s.Height(row, 34)
	s.Span(1, row, 3, look.Label, "Installed and checked on")
	s.Span(4, row, 6, look.SignLine, "")
	s.Span(7, row, 9, look.Label, "by (name, license)")
	s.Span(10, row, wide, look.SignLine, "")
	row++
	s.Height(row, 40)
	s.Span(1, row, wide, look.Caution, strings.Join(m.Texts["cautions"], " "))
	s.Print(wide, row)
}
