package shape

import (
	"errors"
	"math"
	"testing"
)

// The names stand on the pages that auditors read; no two kinds may share one.
func TestKindsHaveTheirNames(t *testing.T) {
	seen := map[string]bool{}
	for k := Horizontal; k <= Elliptic; k++ {
		if name := k.String(); name == "" || name == "unknown shape" || seen[name] {
			t.Errorf("kind %d is called %q", k, name)
		} else {
			seen[name] = true
		}
	}
	for k := Flat; k <= EccentricConical; k++ {
		if name := k.String(); name == "" || name == "unknown end" || seen[name] {
			t.Errorf("end %d is called %q", k, name)
		} else {
			seen[name] = true
		}
	}
	if Kind(0).String() != "unknown shape" || Kind(99).String() != "unknown shape" || HeadKind(99).String() != "unknown end" {
		t.Error("what is no kind has a name")
	}
}

// Empty and full are answered with the ends of the span exactly: a tank that is
// full at 96 in must not read 95.9999999999.
func TestEmptyAndFullAreTheEndsOfTheSpan(t *testing.T) {
	for name, s := range map[string]Spec{
		"lying":   {Kind: Horizontal, Diameter: 96, Length: 300},
		"dished":  {Kind: Horizontal, Diameter: 96, Length: 300, Low: Head{Kind: TwoToOne}, High: Head{Kind: Cap, Depth: 12}},
		"upright": {Kind: Upright, Diameter: 96, Length: 120, Low: Head{Kind: Conical, Depth: 20}},
		"box":     {Kind: Box, Height: 60, Width: 40, Length: 100},
		"obround": {Kind: Obround, Height: 60, Width: 90, Length: 100},
		"ellipse": {Kind: Elliptic, Height: 60, Width: 90, Length: 100, Low: Head{Kind: Ellipsoidal, Depth: 10}},
	} {
		tk, err := New(s)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if h, err := tk.Depth(0); h != 0 || err != nil {
			t.Errorf("%s: empty at %v, %v", name, h, err)
		}
		if h, err := tk.Depth(tk.Full()); h != tk.Height() || err != nil {
			t.Errorf("%s: full at %v, %v; its height is %v", name, h, err, tk.Height())
		}
		if lo, hi := tk.Span(); lo != 0 || hi != tk.Height() {
			t.Errorf("%s: level, its span is %v to %v", name, lo, hi)
		}
		if tk.Volume(-1) != 0 || tk.Volume(hugeDepth) != tk.Full() || tk.Area(-1) != 0 || tk.Area(hugeDepth) != 0 || !math.IsNaN(tk.Volume(math.NaN())) {
			t.Errorf("%s: outside its span it holds %v and %v", name, tk.Volume(-1), tk.Volume(hugeDepth))
		}
		if tk.Spec() != s {
			t.Errorf("%s: made from %+v, which is not what was given", name, tk.Spec())
		}
	}
}

const hugeDepth = 1e6

// A tilt of a hair changes the volume by what the mean depth changes, and by
// nothing more: the rise of r over the length, dipped at the middle, leaves the
// volume as it is up to the square of the rise. Where the two ends' depths are
// nearly equal, a difference of integrals would lose its digits.
func TestTiltOfAHair(t *testing.T) {
	const length = 300
	for name, s := range map[string]Spec{
		"lying":   {Kind: Horizontal, Diameter: 96, Length: length},
		"dished":  {Kind: Horizontal, Diameter: 96, Length: length, Low: Head{Kind: TwoToOne}, High: Head{Kind: TwoToOne}},
		"box":     {Kind: Box, Height: 60, Width: 40, Length: length},
		"obround": {Kind: Obround, Height: 60, Width: 90, Length: length},
		"tall":    {Kind: Obround, Height: 90, Width: 60, Length: length},
		"ellipse": {Kind: Elliptic, Height: 60, Width: 90, Length: length},
	} {
		level, err := New(s)
		if err != nil {
			t.Fatal(err)
		}
		for _, rise := range []float64{1e-7, 1e-5, 1e-4, 2e-3} {
			s.Rise, s.Dip = rise, length/2
			tilted, err := New(s)
			if err != nil {
				t.Fatal(err)
			}
			for share := 0.1; share < 0.95; share += 0.2 {
				h := share * level.Height()
				// The square of the rise is at most 4e-6, the section's curve over
				// it at most a few inches: a hundred-thousandth of a cubic inch an
				// inch of length at the most.
				if got, want := tilted.Volume(h), level.Volume(h); math.Abs(got-want) > 1e-5*length {
					t.Errorf("%s, rise %g, %.1f in: %v, level %v", name, rise, h, got, want)
				}
				if got, want := tilted.Area(h), level.Area(h); math.Abs(got-want) > 1e-6*want {
					t.Errorf("%s, rise %g, %.1f in: a surface of %v, level %v", name, rise, h, got, want)
				}
			}
		}
	}
}

// Of a tilted tank the stick sees neither the last drop nor the last bubble: the
// answer names the depth, and says that no stick shows it.
func TestOffTheStickIsAnError(t *testing.T) {
	tk, err := New(Spec{Kind: Box, Height: 50, Width: 40, Length: 200, Rise: 10, Dip: 190})
	if err != nil {
		t.Fatal(err)
	}
	lo, hi := tk.Span()
	if !(lo < 0) || !(hi > 50) {
		t.Fatalf("a tilted box is empty at %v and full at %v in", lo, hi)
	}
	if h, err := tk.Depth(0); h != lo || !errors.Is(err, ErrBelowDip) {
		t.Errorf("empty at %v, %v; want %v", h, err, lo)
	}
	if h, err := tk.Depth(tk.Full()); h != hi || !errors.Is(err, ErrAboveDip) {
		t.Errorf("full at %v, %v; want %v", h, err, hi)
	}
}
