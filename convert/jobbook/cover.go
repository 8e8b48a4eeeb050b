package jobbook

import (
	"fmt"
	"slices"
	"strings"

	"dropcut/convert/jobbook/sheet"
	"dropcut/plan"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// coverFields are filled in once a job.
func coverFields() []field {
	return []field{
		{key: "visit", label: "Date of the visit", kind: ofDate},
		{key: "crew", label: "Crew", kind: ofText},
	}
}

// madeBy begins the line that names the program and its version.
const madeBy = "Made by dropcut "

// cover lists the tanks of the job and what to bring.
func (m *maker) cover(s *sheet.Sheet) {
	s.Height(1, 32)
	kind := "Drop tube job"
	if m.job.Inspection {
		kind = "Three-year inspection"
	}
	span(s, 1, 1, 8, title, m.job.Name)
	span(s, 9, 1, wide, right, kind)
	var sites []string
	for _, r := range m.job.Results {
		if site := r.Tank.Site.Raw; site != "" && !slices.Contains(sites, site) {
			sites = append(sites, site)
		}
	}
	span(s, 1, 2, wide, subtitle, "Site: "+strings.Join(sites, "; "))
	span(s, 1, 3, wide, small, madeBy+m.job.Program+" from "+m.job.Portfolio+". Fill in the marked cells, save, and send this file back.")
	f := &form{m: m, s: s, n: 0, row: 3, cells: map[string]string{}}
	f.two(coverFields(), 20)
	f.heading("Tanks")
	f.row++
	s.Height(f.row, 26)
	for _, h := range [...]struct {
		col, to int
		text    string
	}{{1, 2, "tank"}, {3, 4, "product"}, {5, 6, "device"}, {7, 8, "upper tube"}, {9, 10, "lower tube"}, {11, 12, "status"}} {
		span(s, h.col, f.row, h.to, tableHead, h.text)
	}
	for _, r := range m.job.Results {
		f.row++
		s.Height(f.row, 24)
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
		span(s, 1, f.row, 2, tableCell, r.Tank.ID.Raw)
		span(s, 3, f.row, 4, tableCell, r.Tank.Product.Raw)
		span(s, 5, f.row, 6, tableCell, device)
		span(s, 7, f.row, 8, tableCell, upper)
		span(s, 9, f.row, 10, tableCell, lower)
		span(s, 11, f.row, 12, tableCell, statusWords(r))
	}
	m.looksFirst(f)
	m.bring(f)
	f.row++
	s.Height(f.row, 46)
	span(s, 1, f.row, wide, caution, strings.Join(m.texts["cautions"], " "))
	f.row++
	s.Height(f.row, 10)
	span(s, 1, f.row, wide, key, m.jobKey())
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
		f.s.Height(f.row, 13*float64(1+len(line)/112))
		span(f.s, 1, f.row, wide, text, line)
	}
	if !any {
		f.row++
		span(f.s, 1, f.row, wide, text, "Nothing was found that a person must look at first.")
	}
}

// bring lists devices, stock tubes and tools.
func (m *maker) bring(f *form) {
	f.heading("What to bring")
	n := 0
	add := func(line string) {
		n++
		f.row++
		f.s.Height(f.row, 14)
		f.tick(fmt.Sprintf("bring_%d", n))
		span(f.s, 2, f.row, wide, text, line)
	}
	if !m.job.Inspection {
		for _, d := range m.devices() {
			add(fmt.Sprintf("%d x device %s", d.n, d.text))
		}
		for _, line := range m.stock() {
			add(line)
		}
	}
	for _, tool := range m.texts["tools by kind"] {
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
