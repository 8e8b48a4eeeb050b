package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"dropcut/convert/peer"
	"dropcut/templates"

	"github.com/xuri/excelize/v2"
)

var drawPictures = flag.String("pictures", "", "make pictures of README.md anew: all, or the one of that name; needs LibreOffice, Chromium and poppler")

// mostPicture is what a picture of the README may take, in bytes.
const mostPicture = 120_000

// readmePicture is a picture of README.md: of which output it is, and how it is
// made from that.
type readmePicture struct {
	name string
	// says gives the text of the output, by whose change the picture gets stale.
	says func(*testing.T, demoOut) string
	make func(*testing.T, demoOut) image.Image
}

// demoOut is a folder with the outputs of the demonstration.
type demoOut struct{ dir string }

func (s demoOut) path(name string) string { return filepath.Join(s.dir, filepath.FromSlash(name)) }

const (
	shownPlanned = "demo/brookfen-tanks-planned.xlsx"
	shownPage    = "night/page.html"
	shownFound   = "audit.csv"
	shownPlot    = "plots/brookfen-tanks-Larkspur-Commons-LC-1"
	shownJob     = "jobs/brookfen-tanks-jobs/Millrace-Fuel-Stop.xlsx"
)

var readmePictures = []readmePicture{
	{"planned.png", func(t *testing.T, s demoOut) string { return sheetText(t, s.path(shownPlanned), "Tanks") }, plannedPicture},
	{"overnight.png", pageText, func(t *testing.T, s demoOut) image.Image {
		shot := filepath.Join(t.TempDir(), "page.png")
		peer.Output(t, peer.Program(t, "chromium", "chromium-browser", "google-chrome"), "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars",
			"--window-size=1040,700", "--screenshot="+shot, "file://"+filepath.ToSlash(s.path(shownPage)))
		return readPNG(t, shot)
	}},
	{"chart.png", func(t *testing.T, s demoOut) string { return fileText(t, s.path(shownPlot+".svg")) }, func(t *testing.T, s demoOut) image.Image { return readPNG(t, s.path(shownPlot+".png")) }},
	{"cut-page.png", func(t *testing.T, s demoOut) string { return sheetText(t, s.path(shownJob), "MR-1") }, func(t *testing.T, s demoOut) image.Image { return pdfPage(t, s.path(shownJob), 2, 88) }},
	{"fill-card.png", func(t *testing.T, s demoOut) string { return sheetText(t, s.path(shownJob), "MR-1 fill card") }, func(t *testing.T, s demoOut) image.Image { return pdfPage(t, s.path(shownJob), 6, 88) }},
}

// The pictures of README.md are those of what the program writes today: the list
// beside them holds the hash of the output that each was made from. Making them
// anew takes other programs, so that a stale one is a failure only where those are
// required; elsewhere it is said.
func TestPicturesAreOfToday(t *testing.T) {
	s := demoOut{t.TempDir()}
	for _, args := range [][]string{
		{"demo", s.path("demo")},
		{"run", "--quiet", "--out", s.path("night"), s.path("demo")},
		{"audit", "--plots", s.path("plots"), s.path("demo/brookfen-tanks.xlsx")},
		{"jobs", "--quiet", "--out", s.path("jobs"), s.path("demo/brookfen-tanks.xlsx")},
	} {
		var out, errs bytes.Buffer
		if status := run(context.Background(), append([]string{"dropcut"}, args...), nil, &out, &errs); status != statusDone && status != statusStops {
			t.Fatalf("%q ended with %d: %s", args, status, errs.String())
		}
	}
	var found bytes.Buffer
	run(context.Background(), []string{"dropcut", "audit", "--format", "csv", s.path("demo/brookfen-tanks.xlsx")}, nil, &found, io.Discard)
	if err := os.WriteFile(s.path(shownFound), found.Bytes(), 0o666); err != nil {
		t.Fatal(err)
	}
	home := filepath.Join("..", "..", "testdata", "pictures")
	list := filepath.Join(home, "sources.csv")
	if *drawPictures != "" {
		if err := os.MkdirAll(home, 0o777); err != nil {
			t.Fatal(err)
		}
		rows := [][]string{{"picture", "SHA-256 of the text it shows"}}
		for _, p := range readmePictures {
			if *drawPictures != "all" && *drawPictures != p.name {
				rows = append(rows, []string{p.name, listedHash(t, list, p.name)})
				continue
			}
			data := packed(t, trimmed(p.make(t, s)))
			if err := os.WriteFile(filepath.Join(home, p.name), data, 0o666); err != nil {
				t.Fatal(err)
			}
			rows = append(rows, []string{p.name, textHash(p.says(t, s))})
		}
		var b bytes.Buffer
		if err := csv.NewWriter(&b).WriteAll(rows); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(list, b.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	readme := fileText(t, filepath.Join("..", "..", "README.md"))
	var stale []string
	for _, p := range readmePictures {
		info, err := os.Stat(filepath.Join(home, p.name))
		if err != nil {
			t.Error(err)
		} else if info.Size() > mostPicture {
			t.Errorf("%s takes %d bytes, at most %d are expected", p.name, info.Size(), mostPicture)
		}
		if !strings.Contains(readme, "testdata/pictures/"+p.name) {
			t.Errorf("README.md does not show %s", p.name)
		}
		if listedHash(t, list, p.name) != textHash(p.says(t, s)) {
			stale = append(stale, p.name)
		}
	}
	if len(stale) == 0 {
		return
	}
	if words := "README.md shows what the program wrote before: " + strings.Join(stale, ", ") + "; run bash .ci/pictures, and look at them"; peer.Required() {
		t.Error(words)
	} else {
		t.Skip(words)
	}
}

// listedHash gives the hash that a picture was made from; "" where it is not listed.
func listedHash(t *testing.T, list, name string) string {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(fileText(t, list))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range rows {
		if r[0] == name {
			return r[1]
		}
	}
	return ""
}

func textHash(s string) string {
	sum := sha256.Sum256([]byte(s))
	return hex.EncodeToString(sum[:])
}

func fileText(t *testing.T, path string) string {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// pageText gives what the picture of the page shows: how it is dressed, and what
// was found. What it holds of each tank's calculation is not to be seen there.
func pageText(t *testing.T, s demoOut) string {
	t.Helper()
	var b strings.Builder
	for _, name := range []string{"page/page.html", "page/page.css"} {
		data, err := templates.FS.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		b.Write(data)
	}
	rows, err := csv.NewReader(strings.NewReader(fileText(t, s.path(shownFound)))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) < 2 {
		t.Fatal("nothing was found in the demonstration")
	}
	severity, slug := slices.Index(rows[0], "severity"), slices.Index(rows[0], "finding")
	for _, r := range rows {
		b.WriteString(r[severity] + " " + r[slug] + "\n")
	}
	return b.String()
}

// sheetText gives what stands on a sheet, as it is shown.
func sheetText(t *testing.T, path, sheet string) string {
	t.Helper()
	f, err := excelize.OpenFile(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := f.GetRows(sheet)
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	for _, row := range rows {
		b.WriteString(strings.Join(row, "\t") + "\n")
	}
	return b.String()
}

// shownColumns are those of the plan's columns that fit a picture.
var shownColumns = []string{"Limit %", "Shutoff depth", "Shutoff %", "Worst-case", "Upper tube cut", "Lower tube cut", "Drop length", "Alarm depth", "Status"}

// plannedPicture shows the list of tanks of a planned book: the columns by which a
// tank is known and what the plan has added. The other columns are
// folded away, as somebody does who looks at the plan.
func plannedPicture(t *testing.T, s demoOut) image.Image {
	t.Helper()
	f, err := excelize.OpenFile(s.path(shownPlanned))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	check := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	rows, err := f.GetRows("Tanks")
	check(err)
	head := slices.IndexFunc(rows, func(r []string) bool { return slices.Contains(r, "Plan: Status") })
	if head < 0 {
		t.Fatal("there is no column Plan: Status")
	}
	for i, name := range rows[head] {
		col, err := excelize.ColumnNumberToName(i + 1)
		check(err)
		switch what := strings.TrimPrefix(name, "Plan: "); {
		case i < 3:
		case what != name && slices.ContainsFunc(shownColumns, func(s string) bool { return strings.HasPrefix(what, s) }):
			check(f.SetColWidth("Tanks", col, col, 11))
		default:
			check(f.SetColVisible("Tanks", col, false))
		}
	}
	check(f.SetRowHeight("Tanks", head+1, 42))
	for _, name := range f.GetSheetList() {
		if name != "Tanks" {
			check(f.DeleteSheet(name))
		}
	}
	wide, one, fit := "landscape", 1, true
	check(f.SetPageLayout("Tanks", &excelize.PageLayoutOptions{Orientation: &wide, FitToWidth: &one, FitToHeight: &one}))
	check(f.SetSheetProps("Tanks", &excelize.SheetPropsOptions{FitToPage: &fit}))
	path := filepath.Join(t.TempDir(), "planned.xlsx")
	check(f.SaveAs(path))
	return pdfPage(t, path, 1, 110)
}

// pdfPage has a workbook printed and gives a page of it, with so many points an
// inch.
func pdfPage(t *testing.T, path string, page, dots int) image.Image {
	t.Helper()
	pdf := peer.Convert(t, path, "pdf")
	to := strings.TrimSuffix(pdf, ".pdf")
	n := strconv.Itoa(page)
	peer.Output(t, peer.Program(t, "pdftoppm"), "-r", strconv.Itoa(dots), "-f", n, "-l", n, "-singlefile", "-png", pdf, to)
	return readPNG(t, to+".png")
}

func readPNG(t *testing.T, path string) image.Image {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	m, err := png.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// trimmed cuts the white border of a page down to a narrow one.
func trimmed(m image.Image) image.Image {
	const border = 10
	box := image.Rectangle{}
	for y := m.Bounds().Min.Y; y < m.Bounds().Max.Y; y++ {
		for x := m.Bounds().Min.X; x < m.Bounds().Max.X; x++ {
			if r, g, b, _ := m.At(x, y).RGBA(); r < 0xF000 || g < 0xF000 || b < 0xF000 {
				box = box.Union(image.Rect(x, y, x+1, y+1))
			}
		}
	}
	box = box.Inset(-border).Intersect(m.Bounds())
	if part, ok := m.(interface {
		SubImage(image.Rectangle) image.Image
	}); ok && !box.Empty() {
		return part.SubImage(box)
	}
	return m
}

// shade keeps 32 shades a colour; a letter's edge needs no more.
func shade(v uint32) uint8 { return uint8((v >> 11) * 255 / 31) }

// packed writes a picture with the 255 colours that it has most of.
func packed(t *testing.T, m image.Image) []byte {
	t.Helper()
	seen := map[color.RGBA]int{}
	box := m.Bounds()
	each := func(do func(x, y int, c color.RGBA)) {
		for y := box.Min.Y; y < box.Max.Y; y++ {
			for x := box.Min.X; x < box.Max.X; x++ {
				r, g, b, _ := m.At(x, y).RGBA()
				do(x, y, color.RGBA{shade(r), shade(g), shade(b), 255})
			}
		}
	}
	each(func(_, _ int, c color.RGBA) { seen[c]++ })
	all := make([]color.RGBA, 0, len(seen))
	for c := range seen {
		all = append(all, c)
	}
	slices.SortFunc(all, func(a, b color.RGBA) int {
		if d := seen[b] - seen[a]; d != 0 {
			return d
		}
		return strings.Compare(fmt.Sprint(a), fmt.Sprint(b))
	})
	var palette color.Palette
	for _, c := range all[:min(len(all), 255)] {
		palette = append(palette, c)
	}
	out := image.NewPaletted(image.Rect(0, 0, box.Dx(), box.Dy()), palette)
	nearest := map[color.RGBA]uint8{}
	each(func(x, y int, c color.RGBA) {
		i, ok := nearest[c]
		if !ok {
			i = uint8(palette.Index(c))
			nearest[c] = i
		}
		out.SetColorIndex(x-box.Min.X, y-box.Min.Y, i)
	})
	var b bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&b, out); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
