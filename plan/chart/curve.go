package chart

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"

	"dropcut/plan/unit"
)

// Curve runs through the rows of a chart, in inches and US gallons, and answers
// both ways. It refuses to answer outside the rows that the chart has: what lies
// beyond the last row was measured by nobody.
//
// Straight lines join the rows, as a person with the paper chart reads between
// two lines. In the upper half of a lying tank they read low by less than the
// rounding of a chart of 1 in steps; between rows that lie farther apart see
// Between and At.
type Curve struct {
	depth, volume []float64
	// first is the index of the first row that holds the top volume; a chart may
	// end flat, and the tank is full where it first gets so.
	first int
}

// Errors of NewCurve. Each is wrapped with the rows that show it.
var (
	ErrUnits   = errors.New("the units of the chart are not known")
	ErrShort   = errors.New("a chart needs two rows at least")
	ErrNoValue = errors.New("a row holds no number")
	ErrSize    = errors.New("a number that no tank has")
	ErrDepth   = errors.New("the depths do not rise from row to row")
	ErrVolume  = errors.New("the volumes fall")
	ErrOutside = errors.New("outside the rows of the chart")
)

// What no chart has, not even a lake's: 150 miles of depth, or more water than
// the earth holds. A step below a billionth of an inch is noise of a conversion.
// Within these bounds no division overflows.
const (
	mostDepth  = 1e7
	mostVolume = 1e21
	leastStep  = 1e-9
)

// NewCurve takes a chart whose depths rise and whose volumes do not fall. A chart
// that runs from the top down is turned around; any other order is refused, since
// what does not rise may be another fault than its order.
func NewCurve(c *Chart) (*Curve, error) {
	if !c.UnitsKnown() {
		return nil, ErrUnits
	}
	n := len(c.Rows)
	if n < 2 {
		return nil, fmt.Errorf("%w; it has %d", ErrShort, n)
	}
	k := Curve{depth: make([]float64, 0, n), volume: make([]float64, 0, n)}
	down := c.Rows[0].Depth > c.Rows[n-1].Depth
	asIs := c.DepthUnit == unit.Inches && c.VolumeUnit == unit.USGallons
	for j := range n {
		i := j
		if down {
			i = n - 1 - j
		}
		r := &c.Rows[i]
		if math.IsNaN(r.Depth) || math.IsNaN(r.Volume) || math.IsInf(r.Depth, 0) || math.IsInf(r.Volume, 0) {
			return nil, fmt.Errorf("%w: %s", ErrNoValue, c.DepthAt(i).Cell())
		}
		d, v := r.Depth, r.Volume
		if !asIs {
			d, v = float64(c.DepthUnit.Length(d)), float64(c.VolumeUnit.Volume(v))
		}
		if math.Abs(d) > mostDepth || math.Abs(v) > mostVolume {
			return nil, fmt.Errorf("%w: %s", ErrSize, c.DepthAt(i).Cell())
		}
		if m := len(k.depth); m > 0 {
			switch {
			case d == k.depth[m-1] && v == k.volume[m-1]:
				continue // the same row twice says nothing new; the audit names it
			case d < k.depth[m-1]+leastStep:
				return nil, fmt.Errorf("%w: %s", ErrDepth, c.DepthAt(i).Cell())
			case v < k.volume[m-1]:
				return nil, fmt.Errorf("%w: %s", ErrVolume, c.VolumeAt(i).Cell())
			}
		}
		k.depth, k.volume = append(k.depth, d), append(k.volume, v)
	}
	n = len(k.depth)
	if n < 2 {
		return nil, fmt.Errorf("%w; it has one", ErrShort)
	}
	k.first, _ = slices.BinarySearch(k.volume, k.volume[n-1])
	return &k, nil
}

// Full gives the top charted volume and the first depth that holds it.
func (k *Curve) Full() (depth unit.Length, volume unit.Volume) {
	return unit.Length(k.depth[k.first]), unit.Volume(k.volume[k.first])
}

// Top gives the last charted depth.
func (k *Curve) Top() unit.Length { return unit.Length(k.depth[len(k.depth)-1]) }

// Bottom gives the first charted depth.
func (k *Curve) Bottom() unit.Length { return unit.Length(k.depth[0]) }

// Step gives the distance between the rows around a depth.
func (k *Curve) Step(d unit.Length) unit.Length {
	i := k.above(float64(d))
	i = min(max(i, 1), len(k.depth)-1)
	return unit.Length(k.depth[i] - k.depth[i-1])
}

// above gives the index of the first row deeper than d.
func (k *Curve) above(d float64) int {
	return sort.SearchFloat64s(k.depth, math.Nextafter(d, math.Inf(1)))
}

// AtOrBelow gives the deepest row whose volume is not above v, and the row after
// it. Where the volumes are equal over several rows, at the flat top of a chart,
// it is the first of them. It is an error where even the first row holds more.
func (k *Curve) AtOrBelow(v unit.Volume) (depth unit.Length, volume unit.Volume, err error) {
	i := sort.Search(len(k.volume), func(i int) bool { return k.volume[i] > float64(v) }) - 1
	if i < 0 {
		return 0, 0, fmt.Errorf("%w: the first row holds %s gal already", ErrOutside, unit.DecimalText(k.volume[0], 1, unit.Nearest))
	}
	i = min(i, k.first)
	return unit.Length(k.depth[i]), unit.Volume(k.volume[i]), nil
}

// Depth gives the depth at which the straight lines between the rows reach a
// volume: the lowest one, where they are flat there.
func (k *Curve) Depth(v unit.Volume) (unit.Length, error) {
	x := float64(v)
	i := sort.SearchFloat64s(k.volume, x)
	switch {
	case math.IsNaN(x) || i == len(k.volume) || i == 0 && x < k.volume[0]:
		return 0, fmt.Errorf("%w: %s gal; it holds %s to %s gal", ErrOutside, unit.DecimalText(x, 1, unit.Nearest),
			unit.DecimalText(k.volume[0], 1, unit.Nearest), unit.DecimalText(k.volume[len(k.volume)-1], 1, unit.Nearest))
	case k.volume[i] == x:
		return unit.Length(k.depth[i]), nil
	}
	share := (x - k.volume[i-1]) / (k.volume[i] - k.volume[i-1])
	return unit.Length(k.depth[i-1] + share*(k.depth[i]-k.depth[i-1])), nil
}

// Volume gives the volume at a depth on the straight lines between the rows.
func (k *Curve) Volume(d unit.Length) (unit.Volume, error) {
	x := float64(d)
	n := len(k.depth)
	if !(x >= k.depth[0] && x <= k.depth[n-1]) {
		return 0, k.outside(x)
	}
	i := min(k.above(x), n-1)
	share := (x - k.depth[i-1]) / (k.depth[i] - k.depth[i-1])
	return unit.Volume(k.volume[i-1] + share*(k.volume[i]-k.volume[i-1])), nil
}

func (k *Curve) outside(x float64) error {
	return fmt.Errorf("%w: %s in; it runs from %s to %s in", ErrOutside, unit.DecimalText(x, 3, unit.Nearest),
		unit.DecimalText(k.depth[0], 3, unit.Nearest), unit.DecimalText(k.depth[len(k.depth)-1], 3, unit.Nearest))
}

// Slope gives the volume per inch around a depth, taken over the rows on either
// side: what an error of the depth does to the volume.
func (k *Curve) Slope(d unit.Length) float64 {
	n := len(k.depth)
	i := min(max(k.above(float64(d)), 1), n-1)
	return (k.volume[i] - k.volume[i-1]) / (k.depth[i] - k.depth[i-1])
}
