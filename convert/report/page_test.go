package report

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/device"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
	"dropcut/templates"
	"dropcut/validate"
)

// hostile is what somebody may have typed into a cell.
const hostile = `</script><img src=x onerror=alert(1)>"'&<!--`

func of[T any](v T, raw string, row int) cell.Of[T] {
	return cell.Of[T]{V: v, Raw: raw, At: cell.Ref{File: "b.xlsx", Sheet: "Tanks", Col: 3, Row: row}}
}

// jobOf makes a job of a few tanks whose charts are lying cylinders with flat
// ends (CRC Standard Mathematical Tables, circular segment), one of them with a
// wrong row.
func jobOf(n int, salt string) *plan.Job {
	job := &plan.Job{Book: "b.xlsx"}
	job.Devices = []device.Device{{
		Name: of("Lindenpost 4", "Lindenpost 4", 2), ShutoffDrop: of(unit.Length(2.375), "2 3/8", 2), LeastBelowTop: of(unit.Length(5.75), "5 3/4", 2),
		LeastUpperTube: of(unit.Length(14.5), "14 1/2", 2), BodyLength: of(unit.Length(12.875), "12 7/8", 2), TubeDiameter: of(unit.Length(4), "4", 2),
		CutStep: of(unit.Length(0.0625), "1/16", 2), StockUpper: of(unit.Length(60), "60", 2), StockLower: of(unit.Length(120), "120", 2),
		Source: of("data sheet LP, invented", "data sheet LP, invented", 2),
	}}
	for i := range n {
		id, row := fmt.Sprintf("%s-%d", salt, i+1), 5+i
		c := &chart.Chart{
			Name: id, Layout: "long", DepthUnit: unit.Inches, VolumeUnit: unit.USGallons,
			At: cell.Ref{File: "b.xlsx", Sheet: "Charts", Col: 2, Row: 2 + 200*i}, To: cell.Ref{File: "b.xlsx", Sheet: "Charts", Col: 3, Row: 98 + 200*i},
		}
		const r = 48.0
		for d := 0.0; d <= 96; d++ {
			v := (320 + float64(i)) * (r*r*math.Acos((r-d)/r) - (r-d)*math.Sqrt(max(0, 2*r*d-d*d))) / 231
			c.Rows = append(c.Rows, chart.Row{Depth: d, Volume: math.Round(v), SheetRow: int32(2 + 200*i + int(d)), DepthCol: 2, VolumeCol: 3})
		}
		if i%5 == 1 {
			c.Rows[60].Volume += 60
		}
		t := plan.Tank{
			ID: of(id, id, row), Site: of("Site "+salt, "Site "+salt, row), Product: of("Regular", "Regular", row), Nominal: of(unit.Volume(10000), "10000", row),
			Diameter: of(unit.Length(96), "96", row), Limit: of(unit.Percent(95), "95 %", row), Device: of("Lindenpost 4", "Lindenpost 4", row),
			RiserHeight: of(unit.Length(41.25+float64(i)/8), fmt.Sprint(41.25+float64(i)/8), row), FaceToBottom: of(unit.Length(137.25+float64(i)/8), fmt.Sprint(137.25+float64(i)/8), row),
			At: cell.Ref{File: "b.xlsx", Sheet: "Tanks", Row: row},
		}
		switch {
		case i%5 == 2:
			t.RiserHeight, t.FaceToBottom = cell.Of[unit.Length]{}, cell.Of[unit.Length]{}
		case i%5 == 3:
			t.Site = of(hostile, hostile, row)
		case i%5 == 4:
			c.Rows = c.Rows[:60]
		}
		job.Tanks, job.Charts, job.ChartOf = append(job.Tanks, t), append(job.Charts, c), append(job.ChartOf, i)
	}
	return job
}

func recordOf(t testing.TB, path string, job *plan.Job) *Record {
	t.Helper()
	var results []validate.Result
	findings := job.Findings
	for r := range validate.Run(job, plan.Options{}) {
		results = append(results, r)
		findings = append(findings, r.Findings...)
	}
	rec, err := Make(Input{Path: path, Job: job, Results: results, Findings: findings, Units: Units{Length: unit.Inches, Volume: unit.USGallons}})
	if err != nil {
		t.Fatal(err)
	}
	return rec
}

// source is a record in memory.
type source struct{ *bytes.Reader }

func (source) Close() error { return nil }

// folderOf puts records together as a run does.
func folderOf(t testing.TB, before map[string]*Book, list ...*Record) *Folder {
	t.Helper()
	if before == nil {
		return folderFrom(t, nil, list...)
	}
	return folderFrom(t, func(path string) (*Book, error) { return before[path], nil }, list...)
}

func folderFrom(t testing.TB, before func(string) (*Book, error), list ...*Record) *Folder {
	t.Helper()
	var data [][]byte
	for _, r := range list {
		data = append(data, bytesOf(t, r))
	}
	records := Records{N: len(data), Open: func(i int) (Source, error) { return source{bytes.NewReader(data[i])}, nil }, Before: before}
	f, err := Gather(records, Folder{Name: "books " + hostile, Version: "test", Units: Units{Length: unit.Inches, Volume: unit.USGallons}})
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func pageOf(t testing.TB, f *Folder) []byte {
	t.Helper()
	files, err := fs.Sub(templates.FS, templates.PageDir)
	if err != nil {
		t.Fatal(err)
	}
	parts := f.Parts()
	var buf bytes.Buffer
	if err := f.WritePage(&buf, files, parts, 0); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

// manyBooks gives the records of n tanks in books of 25: the same tanks under
// other names, since it is the page and not the audit that is tried.
func manyBooks(t testing.TB, n int) []*Record {
	t.Helper()
	base := recordOf(t, "x", jobOf(25, "MR"))
	var list []*Record
	for i := range n / 25 {
		rec := *base
		rec.Book.Path = fmt.Sprintf("region %d/book-%04d.xlsx", i%7, i)
		rec.Book.Tanks = append([]Tank(nil), base.Book.Tanks...)
		across := *base.Book.Across
		across.Name = rec.Book.Path
		across.Tanks = append(across.Tanks[:0:0], across.Tanks...)
		for k := range rec.Book.Tanks {
			rec.Book.Tanks[k].ID = fmt.Sprintf("T%d-%d", i, k+1)
			across.Tanks[k].ID = rec.Book.Tanks[k].ID
		}
		rec.Book.Across = &across
		list = append(list, &rec)
	}
	return list
}

func TestPageEscapesEverything(t *testing.T) {
	page := pageOf(t, folderOf(t, nil, recordOf(t, "a/"+hostile+".xlsx", jobOf(5, "MR")), Failed("b.xlsx", fmt.Errorf("%s", hostile))))
	if n := bytes.Count(page, []byte("<img")); n != 0 {
		t.Errorf("the page holds %d elements that a book smuggled in", n)
	}
	if n := bytes.Count(page, []byte("</script>")); n != bytes.Count(page, []byte("<script")) {
		t.Errorf("%d ends of scripts", n)
	}
	// Nothing is loaded from anywhere: the only addresses are the names of SVG.
	bare := regexp.MustCompile(`(?s)<script type="text/plain".*?</script>`).ReplaceAll(page, nil)
	for _, m := range regexp.MustCompile(`(?:https?:|["'(])//[a-z0-9.]+`).FindAllString(string(bare), -1) {
		if !strings.Contains(m, "www.w3.org") {
			t.Errorf("the page names %s", m)
		}
	}
}

// The policy that the page sets itself has the hashes of its own script and
// looks, by which a browser refuses all others (W3C Content Security Policy 3).
func TestPagePolicy(t *testing.T) {
	page := pageOf(t, folderOf(t, nil, recordOf(t, "a.xlsx", jobOf(1, "MR"))))
	if !bytes.Contains(page, []byte(`content="default-src 'none'; script-src 'sha256-`)) {
		t.Error("the page has no policy")
	}
}

func TestTheSameRecordsAreTheSameBytes(t *testing.T) {
	make := func() []byte {
		f := folderOf(t, nil, recordOf(t, "a.xlsx", jobOf(40, "MR")), recordOf(t, "b.xlsx", jobOf(3, "CR")))
		var buf bytes.Buffer
		buf.Write(pageOf(t, f))
		if err := f.WriteWorkbook(&buf); err != nil {
			t.Fatal(err)
		}
		if err := f.WriteCSV(&buf); err != nil {
			t.Fatal(err)
		}
		return buf.Bytes()
	}
	if first := make(); !bytes.Equal(first, make()) {
		t.Error("two reports of the same records differ")
	}
}

// What a run tells of the run before it.
func TestChanges(t *testing.T) {
	old, now := recordOf(t, "a.xlsx", jobOf(5, "MR")), recordOf(t, "a.xlsx", jobOf(6, "MR"))
	now.Book.Tanks[0].Figures[ShutoffDepth].V++
	now.Book.Across.Tanks[0].Shutoff++
	f := folderOf(t, map[string]*Book{"a.xlsx": &old.Book}, now, recordOf(t, "b.xlsx", jobOf(1, "CR")))
	if f.Changes.Count != 3 || f.Changes.Up != 1 {
		t.Errorf("changes %+v, want a shutoff that moved up, a new tank and a new book", f.Changes.List)
	}
	for _, want := range []string{"tank MR-1, Site MR: shutoff depth 86 in -> 87 in, up, towards the limit", "tank MR-6, Site MR is new: ready", "the book b.xlsx is new: 1 tank"} {
		found := false
		for _, c := range f.Changes.List {
			found = found || c.Text() == want
		}
		if !found {
			t.Errorf("nobody says %q among %+v", want, f.Changes.List)
		}
	}
	moved := false
	for _, k := range f.Kinds {
		moved = moved || k.Slug == finding.ShutoffMovedUp
	}
	if !moved {
		t.Error("the shutoff that moved up is no finding")
	}
}

// A tank that is ready by its own book is not ready where the books together
// say that somebody must look first.
func TestAcrossCountsForTheStatus(t *testing.T) {
	a, b := jobOf(1, "MR"), jobOf(1, "MR")
	b.Tanks[0].Diameter.V, b.Tanks[0].Nominal.V = 0, 0
	b.Tanks[0].RiserHeight.V++
	b.Tanks[0].FaceToBottom.V++
	f := folderOf(t, nil, recordOf(t, "a.xlsx", a), recordOf(t, "b.xlsx", b))
	if f.Status[validate.Check] != 1 || f.Status[validate.Ready] != 1 {
		t.Errorf("%s, want the second of the two rows of tank MR-1 to be looked at", f.StatusLine())
	}
}

func TestPageInABrowser(t *testing.T) {
	n := 250
	if os.Getenv("DROPCUT_LONG") != "" {
		n = 5000
	}
	f := folderOf(t, map[string]*Book{}, append(manyBooks(t, n), Failed("zz/broken.xlsx", fmt.Errorf("broken.xlsx: not a workbook %s", hostile)))...)
	path := filepath.Join(t.TempDir(), "page.html")
	page := pageOf(t, f)
	if err := os.WriteFile(path, page, 0o666); err != nil {
		t.Fatal(err)
	}
	b := startBrowser(t)
	b.call("Performance.enable", map[string]any{"timeDomain": "threadTicks"}, nil)
	took, work := time.Hour, time.Hour
	for range 3 {
		// The browser and this computer may be busy with something else; the best of
		// three tells what the page takes.
		b.call("Page.navigate", map[string]any{"url": "about:blank"}, nil)
		before := b.work()
		took = min(took, b.open(path))
		work = min(work, b.work()-before)
	}
	t.Logf("%d tanks, %.1f MB: first view after %v, %v of it the work of the page", n, float64(len(page))/1e6, took.Round(time.Millisecond), work.Round(time.Millisecond))
	// On a computer that does something else besides, time passes while the page
	// waits for its turn; the processor time of its own thread tells that apart.
	if os.Getenv("DROPCUT_LONG") != "" && (work > time.Second/2 || took > time.Second && took < 3*work) {
		t.Errorf("first view of 5,000 tanks after %v with %v of work, want less than a second", took, work)
	}
	t.Logf("the script was through %s ms after the page began", b.text("document.documentElement.dataset.took"))
	b.call("Emulation.setDeviceMetricsOverride", map[string]any{"width": 1400, "height": 1000, "deviceScaleFactor": 1, "mobile": false}, nil)
	b.see("list")

	// What the page counts is what the folder counts.
	for i, s := range statuses() {
		want := grouped(f.Status[s])
		if got := b.text(fmt.Sprintf("document.querySelectorAll('#status b')[%d].textContent", i)); got != want {
			t.Errorf("%s %s tanks, want %s", got, s, want)
		}
	}
	if got := b.text("document.querySelector('#failed li').textContent"); !strings.Contains(got, "zz/broken.xlsx") || !strings.Contains(got, hostile) {
		t.Errorf("the broken book reads %q", got)
	}
	if b.js("!!document.querySelector('img') || window.alerted === true") == true {
		t.Error("a text of a book became markup")
	}

	// Sort: by the shutoff percentage, both ways; what is not known stands last.
	first := func(col int) string {
		return b.text(fmt.Sprintf("document.querySelector('#tanks tbody tr').cells[%d].textContent", col))
	}
	b.js("document.querySelector('th[data-key=percent] button').click()")
	low := first(4)
	b.js("document.querySelector('th[data-key=percent] button').click()")
	high := first(4)
	if !(low != "" && high != "" && low < high) {
		t.Errorf("sorted by percentage the first is %q upwards and %q downwards", low, high)
	}
	if got := b.text("document.querySelector('th[data-key=percent]').getAttribute('aria-sort')"); got != "descending" {
		t.Errorf("aria-sort is %q", got)
	}

	// Filter by status, by kind, by words.
	b.js("document.querySelector('#status button[data-status=stop]').click()")
	if got, want := b.text("document.getElementById('shown').textContent"), grouped(f.Status[validate.Stop])+" tanks of "+grouped(n); got != want {
		t.Errorf("shown: %q, want %q", got, want)
	}
	b.js("document.querySelector('#filter button[type=reset]').click()")
	b.js("(() => { const s = document.getElementById('f-finding'); s.value = 'wrong-digit'; s.dispatchEvent(new Event('change')); })()")
	if got, want := b.text("document.getElementById('shown').textContent"), grouped(n/5)+" tanks of "+grouped(n); got != want {
		t.Errorf("with wrong-digit: %q, want %q", got, want)
	}
	b.js("document.querySelector('#filter button[type=reset]').click()")
	b.js("document.getElementById('q').focus()")
	b.call("Input.insertText", map[string]any{"text": "t7-12 book-0007"}, nil)
	if got := b.text("document.getElementById('shown').textContent"); got != "1 tanks of "+grouped(n) && got != "1 tank of "+grouped(n) {
		t.Errorf("searched for one tank: %q", got)
	}

	// The view stands in the address; the keyboard opens a tank.
	if got := b.text("location.hash"); !strings.HasPrefix(got, "#list?q=t7-12") {
		t.Errorf("the address is %q", got)
	}
	b.js("document.querySelector('#tanks tbody a').focus()")
	b.key("Enter", "Enter", 13)
	b.until("!!document.querySelector('#tank figure svg')")
	b.see("tank")
	if got := b.text("document.activeElement.id"); got != "h-tank" {
		t.Errorf("the focus is on %q, want the heading of the tank", got)
	}
	if got := b.text("document.getElementById('h-tank').textContent"); !strings.HasPrefix(got, "Tank T7-12") {
		t.Errorf("the tank is %q", got)
	}
	// A wrong row is ringed in the chart, its residual is drawn, and the
	// calculation stands there line by line.
	for what, want := range map[string]string{
		"document.querySelectorAll('#tank figure').length":                                       "2",
		"document.querySelectorAll('#tank [data-part=flagged]').length > 0":                      "true",
		"document.querySelectorAll('#tank [data-part=residual]').length > 0":                     "true",
		"document.querySelectorAll('#tank [data-part=fitted]').length > 0":                       "true",
		"document.querySelectorAll('#tank .trail li').length > 10":                               "true",
		"document.querySelector('#tank').textContent.includes('wrong-digit')":                    "true",
		"[...document.querySelectorAll('#tank svg')].every(s => s.getAttribute('role')==='img')": "true",
	} {
		if got := b.text(what); got != want {
			t.Errorf("%s is %s, want %s", what, got, want)
		}
	}
	var pdf struct{ Data string }
	b.call("Page.printToPDF", map[string]any{"printBackground": false}, &pdf)
	if dir := os.Getenv("DROPCUT_SHOTS"); dir != "" {
		keep(t, filepath.Join(dir, "tank.pdf"), pdf.Data)
	}
	if pages := pdfPages(t, pdf.Data); pages < 1 || pages > 6 {
		t.Errorf("a tank prints on %d pages, want a few", pages)
	}

	// Back: the list as it was, and the focus on the line that was left.
	b.js("document.getElementById('back').click()")
	b.until("!document.getElementById('view-list').hidden")
	if got := b.text("document.activeElement.textContent"); got != "T7-12" {
		t.Errorf("the focus is on %q, want the tank that was left", got)
	}
	// A list prints with all its lines, not with those of the page that is shown.
	b.js("document.querySelector('#filter button[type=reset]').click()")
	b.js("(() => { const s = document.getElementById('f-finding'); s.value = 'wrong-digit'; s.dispatchEvent(new Event('change')); })()")
	b.call("Page.printToPDF", map[string]any{"printBackground": false}, &pdf)
	if dir := os.Getenv("DROPCUT_SHOTS"); dir != "" {
		keep(t, filepath.Join(dir, "list.pdf"), pdf.Data)
	}
	if pages := pdfPages(t, pdf.Data); pages < n/5/60 {
		t.Errorf("a list of %d tanks prints on %d pages only", n/5, pages)
	}

	// A tank can be linked to, whatever its site is called.
	b.js("document.querySelector('#filter button[type=reset]').click()")
	link := b.text("[...document.querySelectorAll('#tanks tbody a')].find(a => a.href.includes('onerror')).getAttribute('href')")
	b.js("location.hash = " + fmt.Sprintf("%q", link))
	b.until("!!document.querySelector('#tank figure svg')")
	if got := b.text("document.getElementById('h-tank').textContent"); !strings.Contains(got, hostile) {
		t.Errorf("the tank of the hostile site is %q", got)
	}
	b.call("Emulation.setEmulatedMedia", map[string]any{"features": []map[string]string{{"name": "prefers-color-scheme", "value": "dark"}}}, nil)
	b.see("dark")
	b.js("location.hash = '#list?status=check'")
	b.until("!document.getElementById('view-list').hidden")
	b.see("dark-list")
	for _, fault := range contrast(b) {
		t.Error("dark: " + fault)
	}
	b.call("Emulation.setEmulatedMedia", map[string]any{"features": []map[string]string{{"name": "prefers-color-scheme", "value": "light"}}}, nil)
	for _, fault := range contrast(b) {
		t.Error("light: " + fault)
	}
	b.call("Emulation.setDeviceMetricsOverride", map[string]any{"width": 390, "height": 800, "deviceScaleFactor": 1, "mobile": true}, nil)
	b.see("narrow")
	if b.js("document.documentElement.scrollWidth > 400") == true {
		t.Error("the page is wider than a telephone")
	}
	b.quiet(path)
}

// contrast holds the colours of all texts against their ground: 4.5 to 1 at
// least (W3C WCAG 2.2, 1.4.3, level AA), by its formula of relative luminance.
func contrast(b *browser) []string {
	b.t.Helper()
	list, _ := b.js(`(() => {
	const lum = c => { const v = c.map(x => { x /= 255; return x <= 0.04045 ? x / 12.92 : ((x + 0.055) / 1.055) ** 2.4; }); return 0.2126 * v[0] + 0.7152 * v[1] + 0.0722 * v[2]; };
	const rgb = s => s.match(/[\d.]+/g).map(Number);
	const out = [];
	for (const e of document.querySelectorAll("body *")) {
		if (!e.checkVisibility() || e.closest("svg,script") || ![...e.childNodes].some(n => n.nodeType === 3 && n.data.trim())) continue;
		if (e.disabled) continue;
		let g = e, ground = [255, 255, 255];
		for (; g; g = g.parentElement) { const c = rgb(getComputedStyle(g).backgroundColor); if (c.length < 4 || c[3] > 0) { ground = c; break; } }
		const x = lum(rgb(getComputedStyle(e).color).slice(0, 3)), y = lum(ground.slice(0, 3));
		const ratio = (Math.max(x, y) + 0.05) / (Math.min(x, y) + 0.05);
		if (ratio < 4.5) out.push(e.tagName + "." + e.className + " " + e.textContent.trim().slice(0, 30) + ": " + ratio.toFixed(2));
	}
	return [...new Set(out)].slice(0, 10);
})()`).([]any)
	var out []string
	for _, x := range list {
		out = append(out, fmt.Sprint(x))
	}
	return out
}

// pdfPages counts the pages of a PDF by their objects.
func pdfPages(t *testing.T, encoded string) int {
	t.Helper()
	data, err := base64.StdEncoding.DecodeString(encoded)
	if err != nil {
		t.Fatal(err)
	}
	return len(regexp.MustCompile(`/Type\s*/Page\b[^s]`).FindAll(data, -1))
}

func BenchmarkMake(b *testing.B) {
	job := jobOf(25, "MR")
	var results []validate.Result
	for r := range validate.Run(job, plan.Options{}) {
		results = append(results, r)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Make(Input{Path: "a", Job: job, Results: results, Units: Units{Length: unit.Inches, Volume: unit.USGallons}}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/25, "us/tank")
}
