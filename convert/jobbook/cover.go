package jobbook

import (
	"fmt"
	"slices"
	"strings"

	"dropcut/convert/jobbook/field"
	"dropcut/convert/jobbook/look"

	"dropcut/convert/jobbook/sheet"
	"dropcut/plan"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// coverFields are filled in once a job.
func coverFields() []field.Field {
	return []field.Field{
		{Key: "visit", Label: "Date of the visit", Kind: field.OfDate},
		{Key: "crew", Label: "Crew", Kind: field.OfText},
	}
}

// cover lists the tanks of the job and what to bring.
func (m *maker) cover(s *sheet.Sheet) {
	s.Height(1, 32)
	kind := "Drop tube job"
	if m.job.Inspection {
		kind = "Three-year inspection"
	}
	s.Span(1, 1, 8, look.Title, m.job.Name)
	s.Span(9, 1, wide, look.Right, kind)
	var sites []string
	for _, r := range m.job.Results {
		if site := r.Tank.Site.Raw; site != "" && !slices.Contains(sites, site) {
			sites = append(sites, site)
		}
	}
	s.Height(2, 20)
	s.Span(1, 2, wide, look.Subtitle, "Site: "+strings.Join(sites, "; "))
	s.Span(1, 3, wide, look.Small, field.MadeBy+m.job.Program+" from "+m.job.Portfolio+". Fill in the marked cells, save, and send this file back.")
	f := &form{m: m, s: s, n: 0, row: 3, cells: map[string]string{}}
	f.two(coverFields(), 28)
	f.heading("Tanks")
	f.row++
	s.Height(f.row, 26)
	for _, h := range [...]struct {
		col, to int
		text    string
	}{{1, 2, "tank"}, {3, 4, "product"}, {5, 6, "device"}, {7, 8, "upper tube"}, {9, 10, "lower tube"}, {11, 12, "status"}} {
		s.Span(h.col, f.row, h.to, look.TableHead, h.text)
	}
	for _, r := range m.job.Results {
		f.row++
		device, upper, lower := "", "", ""
		if r.Device != nil {
			device = r.Device.Name.V
		}
		if r.Cut.UpperTube.Known {
			upper = m.cutText(r.Cut.UpperTube.V)
		}
		if r.Cut.LowerTube.Known {
			lower = m.cutText(r.Cut.LowerTube.V)
		}
		s.Height(f.row, 6+15*max(linesOf(device, 2, 18), linesOf(r.Tank.Product.Raw, 2, 16), linesOf(r.Tank.ID.Raw, 2, 16), 1.8))
		s.Span(1, f.row, 2, look.CoverCell, r.Tank.ID.Raw)
		s.Span(3, f.row, 4, look.CoverCell, r.Tank.Product.Raw)
		s.Span(5, f.row, 6, look.CoverCell, device)
		s.Span(7, f.row, 8, look.CoverCell, upper)
		s.Span(9, f.row, 10, look.CoverCell, lower)
		s.Span(11, f.row, 12, look.CoverStatus, statusWords(r))
	}
	m.looksFirst(f)
	m.bring(f)
	f.row++
	s.Height(f.row, 8)
	f.row++
	s.Height(f.row, 46)
	s.Span(1, f.row, wide, look.Caution, strings.Join(m.Texts["cautions"], " "))
	f.row++
	s.Height(f.row, 10)
	s.Span(1, f.row, wide, look.Key, m.jobKey())
	s.NameCell("job_key", 1, f.row)
	s.Print(wide, f.row)
}

func statusWords(r *validate.Result) string {
	switch r.Status {
	case validate.Stop:
		return "DO NOT CUT"
	case validate.Measure:
		return "measure first"
	case validate.Check:
		return "look first"
	}
	return "ready"
}

// looksFirst lists what a person must look at, a few words a tank.
func (m *maker) looksFirst(f *form) {
	f.heading("Look first")
	any := false
	for _, r := range m.job.Results {
		var words []string
		for _, x := range r.All() {
			if x.Severity >= finding.Check && len(words) < 3 {
				words = append(words, x.Found+" (expected: "+x.Expected+")")
			}
		}
		if len(words) == 0 {
			continue
		}
		any = true
		f.row++
		line := r.Tank.ID.Raw + ": " + strings.Join(words, "; ")
		f.s.Height(f.row, 4+15*linesOf(line, wide, 12))
		f.s.Span(1, f.row, wide, look.CoverText, line)
	}
	if !any {
		f.row++
		f.s.Height(f.row, 20)
		f.s.Span(1, f.row, wide, look.CoverText, "Nothing was found that a person must look at first.")
	}
}

// bring lists devices, stock tubes and tools.
func (m *maker) bring(f *form) {
	f.heading("What to bring")
	n := 0
	add := func(line string) {
		n++
		f.row++
		f.s.Height(f.row, 8+15*linesOf(line, wide-1, 12))
		f.tick(fmt.Sprintf("bring_%d", n))
		f.s.Span(2, f.row, wide, look.CoverText, line)
	}
	if !m.job.Inspection {
		for _, d := range m.devices() {
			add(fmt.Sprintf("%d x device %s", d.n, d.text))
		}
		for _, line := range m.stock() {
			add(line)
		}
	}
	for _, tool := range m.Texts["tools by kind"] {
		add(tool)
	}
}

// stock works out the stock tubes of a job, by their lengths.
func (m *maker) stock() []string {
	type kind struct {
		name   string
		length unit.Length
	}
	var order []kind
	pieces := map[kind][]plan.Piece{}
	add := func(name string, stock unit.Length, r *validate.Result, cut plan.Value[unit.Length]) {
		if !cut.Known || !(stock > 0) {
			return
		}
		k := kind{name, stock}
		if pieces[k] == nil {
			order = append(order, k)
		}
		pieces[k] = append(pieces[k], plan.Piece{For: r.Tank.ID.Raw, Length: cut.V})
	}
	for _, r := range m.job.Results {
		if d := r.Device; d != nil && r.Status != validate.Stop {
			od := ""
			if d.TubeDiameter.Given() {
				od = m.lengthShort(d.TubeDiameter.V) + " "
			}
			add(od+"upper tube", d.StockUpper.V, r, r.Cut.UpperTube)
			add(od+"lower tube", d.StockLower.V, r, r.Cut.LowerTube)
		}
	}
	var lines []string
	for _, k := range order {
		cp, err := plan.CutFromStock(pieces[k], k.length, plan.SawCut)
		if err != nil {
			lines = append(lines, fmt.Sprintf("%s longer than the stock of %s: %v", k.name, m.lengthShort(k.length), err))
			continue
		}
		lines = append(lines, fmt.Sprintf("%d x %s of %s", len(cp.Stick), k.name, m.lengthShort(k.length)))
	}
	return lines
}
