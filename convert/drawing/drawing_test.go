package drawing

import (
	"bytes"
	"encoding/xml"
	"flag"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/device"
	"dropcut/plan/rule"
	"dropcut/plan/shape"
	"dropcut/plan/unit"
)

var update = flag.Bool("update", false, "write the golden files anew")

func given[T any](v T) cell.Of[T] { return cell.Of[T]{V: v, Raw: "given"} }

// tank is an invented tank with its chart, device and plan.
type tank struct {
	t plan.Tank
	c *chart.Chart
	d device.Device
}

func lying(t *testing.T, diameter, length, step float64) tank {
	t.Helper()
	s, err := shape.New(shape.Spec{Kind: shape.Horizontal, Diameter: diameter, Length: length})
	if err != nil {
		t.Fatal(err)
	}
	c := &chart.Chart{Name: "MR-1", DepthUnit: unit.Inches, VolumeUnit: unit.USGallons}
	for d := 0.0; d <= diameter; d += step {
		c.Rows = append(c.Rows, chart.Row{Depth: d, Volume: math.Round(s.Volume(d) / shape.CubicInchesPerGallon)})
	}
	x := tank{c: c}
	x.t.ID = cell.Of[string]{V: "MR-1", Raw: "MR-1"}
	x.t.Limit = given(unit.Percent(95))
	x.t.Length = given(unit.Length(length))
	x.t.RiserHeight = given(41.25 * unit.Inch)
	x.t.FaceToBottom = given(unit.Length(diameter) + 41.25)
	x.d = device.Device{
		Name: given("Lindenpost 4"), ShutoffDrop: given(2.375 * unit.Inch), LeastBelowTop: given(5.75 * unit.Inch), LeastUpperTube: given(14.5 * unit.Inch),
		BodyLength: given(12.875 * unit.Inch), TubeDiameter: given(4 * unit.Inch), ArmSpace: given(19 * unit.Inch),
	}
	return x
}

func (x *tank) plan() plan.Cut {
	cut, _ := plan.Make(&x.t, x.c, &x.d, rule.NewSet(nil), plan.Options{})
	return cut
}

var inGal = Units{unit.Inches, unit.USGallons}

// pictures are all kinds of them.
func pictures(t *testing.T) map[string]Picture {
	list := map[string]Picture{}
	a := lying(t, 96, 320, 1)
	cut := a.plan()
	list["tank"] = Tank(&a.t, &cut, &a.d, inGal)
	p, ok := PlotOf(a.c, &cut, inGal)
	if !ok {
		t.Fatal("no plot of a sound chart")
	}
	list["plot"] = p.Picture()

	b := lying(t, 64, 288, 1)
	b.t.Rise, b.t.FillStation, b.t.LowEnd = given(2*unit.Inch), given(24*unit.Inch), given(plan.OtherEnd)
	b.t.CutAngle = given(unit.Angle(30))
	cut = b.plan()
	list["tank-tilted"] = Tank(&b.t, &cut, &b.d, Units{unit.Millimetres, unit.Litres})
	p, _ = PlotOf(b.c, &cut, Units{unit.Millimetres, unit.Litres})
	p.Fitted = make([]float64, len(p.Volume))
	for i := range p.Volume {
		p.Fitted[i] = p.Volume[i] + 3*math.Sin(float64(i)/5)
	}
	p.Volume[40] += 50
	p.Flagged = []int{40}
	list["plot-fitted"] = p.Picture()

	c := lying(t, 120, 406, 1)
	c.t.RiserHeight, c.t.FaceToBottom = cell.Of[unit.Length]{}, cell.Of[unit.Length]{}
	c.t.ID.Raw = `A&B <"1">`
	cut = c.plan()
	list["tank-not-measured"] = Tank(&c.t, &cut, &c.d, inGal)

	d := lying(t, 64, 144, 1)
	d.t.Shape = given("upright")
	d.t.Diameter = given(96 * unit.Inch)
	cut = d.plan()
	list["tank-upright"] = Tank(&d.t, &cut, &d.d, inGal)
	cut = plan.Cut{}
	list["tank-unknown"] = Tank(&d.t, &cut, nil, inGal)
	return list
}

// The SVG text of every kind of picture is the golden one. After a change of the
// looks: go test ./convert/drawing -update, and look at the pictures.
func TestSVGIsTheGoldenOne(t *testing.T) {
	for name, p := range pictures(t) {
		var b bytes.Buffer
		if err := p.WriteSVG(&b, name); err != nil {
			t.Fatal(err)
		}
		path := filepath.Join("testdata", name+".svg")
		if *update {
			if err := os.WriteFile(path, b.Bytes(), 0o666); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(b.Bytes(), want) {
			t.Errorf("%s is not the golden picture any more", path)
		}
		if err := wellFormed(b.String()); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		for _, must := range []string{"<title id=", "<desc id=", `role="img"`} {
			if !strings.Contains(b.String(), must) {
				t.Errorf("%s lacks %s for those who cannot see it", name, must)
			}
		}
	}
}

func wellFormed(s string) error {
	d := xml.NewDecoder(strings.NewReader(s))
	for {
		if _, err := d.Token(); err == io.EOF {
			return nil
		} else if err != nil {
			return err
		}
	}
}

// Every picture becomes a PNG of its size, the same one each time, in which
// there is ink.
func TestPNG(t *testing.T) {
	r, err := NewRaster(2)
	if err != nil {
		t.Fatal(err)
	}
	for name, p := range pictures(t) {
		b, err := r.PNG(&p)
		if err != nil {
			t.Fatal(err)
		}
		first := bytes.Clone(b)
		if dir := os.Getenv("DROPCUT_PICTURES"); dir != "" {
			if err := os.WriteFile(filepath.Join(dir, name+".png"), first, 0o666); err != nil {
				t.Fatal(err)
			}
		}
		if again, err := r.PNG(&p); err != nil || !bytes.Equal(first, again) {
			t.Errorf("%s: two drawings differ (%v)", name, err)
		}
		img, err := png.Decode(bytes.NewReader(first))
		if err != nil {
			t.Fatal(err)
		}
		if got := img.Bounds().Size(); got.X != int(math.Ceil(p.Width*2)) || got.Y != int(math.Ceil(p.Height*2)) {
			t.Errorf("%s: %v pixels", name, got)
		}
		dark := 0
		for y := range img.Bounds().Dy() {
			for x := range img.Bounds().Dx() {
				if c, _, _, _ := img.At(x, y).RGBA(); c < 0x4000 {
					dark++
				}
			}
		}
		if dark < 200 {
			t.Errorf("%s: %d dark pixels, which is nearly nothing", name, dark)
		}
	}
}

// The picture is to scale: distances of levels, cuts and ends are those of the
// plan, in one scale.
func TestPictureIsToScale(t *testing.T) {
	x := lying(t, 96, 320, 1)
	cut := x.plan()
	p := Tank(&x.t, &cut, &x.d, inGal)
	at := func(part string) []float64 {
		var ys []float64
		for _, s := range p.Shapes {
			if s.Name == part {
				ys = append(ys, s.Path[0].Y)
			}
		}
		return ys
	}
	face, shutoff, limit, cuts := at("face"), at("shutoff"), at("limit"), at("cut")
	if len(face) != 1 || len(shutoff) != 1 || len(limit) != 1 || len(cuts) != 4 {
		t.Fatalf("face %v, shutoff %v, limit %v, cuts %v: want 1, 1, 1 and two at each of two cuts", face, shutoff, limit, cuts)
	}
	slices.Sort(cuts)
	scale := (cuts[0] - face[0]) / float64(cut.UpperTube.V)
	if !(scale > 0.5) {
		t.Fatalf("%g points an inch", scale)
	}
	// Half a hundredth of a point: coordinates are not rounded in the description.
	near := func(what string, got float64, want unit.Length) {
		t.Helper()
		if math.Abs(got/scale-float64(want)) > 1e-6 {
			t.Errorf("%s is drawn as %.4f in, the plan says %.4f in", what, got/scale, float64(want))
		}
	}
	near("face to shutoff", shutoff[0]-face[0], x.t.FaceToBottom.V-cut.ShutoffDepth.V)
	near("limit over shutoff", shutoff[0]-limit[0], cut.BetweenDepth.V-cut.ShutoffDepth.V)
	near("drop length", cuts[2]-face[0], cut.DropLength.V)
}

// Texts of a contractor's book stay text.
func TestTextIsEscaped(t *testing.T) {
	p := Picture{Width: 10, Height: 10, Title: `</title><script>`, About: "a\x00b"}
	p.text(1, 1, Start, 8, false, `"<&>`)
	var b bytes.Buffer
	if err := p.WriteSVG(&b, `x" onload="y`); err != nil {
		t.Fatal(err)
	}
	if err := wellFormed(b.String()); err != nil {
		t.Error(err)
	}
	for _, no := range []string{"<script>", `" onload="`, "\x00"} {
		if strings.Contains(b.String(), no) {
			t.Errorf("the text holds %q:\n%s", no, b.String())
		}
	}
}

// Hatch lines stay within their area.
func TestHatchStaysInside(t *testing.T) {
	var p Picture
	p.hatch(solid(1, Ink), 3, []Point{{10, 10}, {50, 10}, {50, 40}, {10, 40}})
	if len(p.Shapes) < 10 {
		t.Fatalf("%d lines", len(p.Shapes))
	}
	for _, s := range p.Shapes {
		for _, q := range s.Path {
			if q.X < 10-1e-9 || q.X > 50+1e-9 || q.Y < 10-1e-9 || q.Y > 40+1e-9 {
				t.Errorf("%v lies outside", q)
			}
		}
	}
}

// Whatever stands in a tank's row, the picture is made and holds only numbers.
func FuzzTank(f *testing.F) {
	f.Add(96.0, 41.25, 137.25, 2.0, 24.0)
	f.Add(0.0, -1.0, math.Inf(1), math.NaN(), 1e300)
	f.Fuzz(func(t *testing.T, tall, riser, face, rise, station float64) {
		x := lying(t, 96, 320, 1)
		x.t.RiserHeight, x.t.FaceToBottom = given(unit.Length(riser)), given(unit.Length(face))
		x.t.Rise, x.t.FillStation = given(unit.Length(rise)), given(unit.Length(station))
		x.t.Diameter = given(unit.Length(tall))
		cut := x.plan()
		p := Tank(&x.t, &cut, &x.d, inGal)
		var b bytes.Buffer
		if err := p.WriteSVG(&b, "x"); err != nil || strings.Contains(b.String(), "NaN") {
			t.Errorf("%v\n%s", err, b.String())
		}
	})
}

func BenchmarkTankPNG(b *testing.B) {
	r, err := NewRaster(2)
	if err != nil {
		b.Fatal(err)
	}
	x := lying(&testing.T{}, 96, 320, 1)
	cut := x.plan()
	for b.Loop() {
		p := Tank(&x.t, &cut, &x.d, inGal)
		if _, err := r.PNG(&p); err != nil {
			b.Fatal(err)
		}
	}
}
