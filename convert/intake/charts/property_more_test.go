package charts

import (
	"fmt"
	"math"

	"dropcut/convert/intake/layout"
	"dropcut/plan/unit"
)

// The layouts of the property test whose depths have units of their own, or whose
// tanks are named in a way of their own.

// inEighths gives the chart the depths of eighths of an inch.
func inEighths(m made) made {
	m.depthU, m.depthUnit, m.step = "in", unit.Inches, 0.125
	m.depths = append([]float64(nil), m.depths...)
	for i := range m.depths {
		m.depths[i] = float64(i) / 8
	}
	return m
}

// inVolumeSteps gives the chart even steps of volume, and the depths of a lying
// cylinder at them.
func inVolumeSteps(m made) made {
	n, top := len(m.depths), m.depths[len(m.depths)-1]
	step := max(math.Floor(m.full/float64(n)), 1)
	m.depths, m.vols = []float64{0}, []float64{0}
	// Three decimals throughout would leave open whether they are thousands.
	fine := 100.0
	if top < 50 {
		fine = 1e4
	}
	for k := 1; k < n; k++ {
		want := step * float64(k) / (step * float64(n-1)) * 0.98
		low, high := 0.0, 96.0
		for range 60 {
			if mid := (low + high) / 2; curve(mid, 1e9)/1e9 < want {
				low = mid
			} else {
				high = mid
			}
		}
		m.depths = append(m.depths, math.Round(high/96*top*fine)/fine)
		m.vols = append(m.vols, step*float64(k))
	}
	return m
}

func volumeHead(d dress, m made) string { return fmt.Sprintf("%s (%s)", d.words[1], m.volU) }

func moreLayouts() map[string]func(d dress, m, n made) (bookTable, []made) {
	return map[string]func(d dress, m, n made) (bookTable, []made){
		"feet, inches, eighths": func(d dress, m, _ made) (t bookTable, out []made) {
			m = inEighths(m)
			t.row("Tank " + m.name)
			t.row("Ft", "In", []string{"Eighths", "8ths", "1/8"}[d.rng.IntN(3)], volumeHead(d, m))
			for i, x := range m.depths {
				t.row(math.Floor(x/12), math.Floor(math.Mod(x, 12)), float64(i%8), m.vols[i])
			}
			return t, []made{m}
		},
		"inches and fractions": func(d dress, m, _ made) (t bookTable, out []made) {
			m = inEighths(m)
			t.row("Tank " + m.name)
			t.row("Inches", "Fraction", volumeHead(d, m))
			for i, x := range m.depths {
				r := []any{math.Floor(x), nil, m.vols[i]}
				if i%8 > 0 {
					r[1] = float64(i%8) / 8
				}
				t.row(r...)
			}
			return t, []made{m}
		},
		"matrix on its side": func(d dress, m, _ made) (t bookTable, out []made) {
			m = inEighths(m)
			n := max(len(m.depths)/8, 9) * 8 // whole inches
			for len(m.depths) < n {
				m.depths = append(m.depths, float64(len(m.depths))/8)
				m.vols = append(m.vols, m.vols[len(m.vols)-1]+1)
			}
			m.depths, m.vols = m.depths[:n], m.vols[:n]
			t.row(fmt.Sprintf("Tank %s, contents in %s", m.name, m.volU))
			r := []any{"in"}
			for i := 0; i < n; i += 8 {
				r = append(r, m.depths[i])
			}
			t.row(r...)
			for k := range 8 {
				r := []any{float64(k) / 8}
				for i := k; i < n; i += 8 {
					r = append(r, m.vols[i])
				}
				t.row(r...)
			}
			return t, []made{m}
		},
		"on its side, ids first": func(d dress, m, n made) (t bookTable, out []made) {
			n.depthU, n.volU, n.depthUnit, n.volumeUnit = m.depthU, m.volU, m.depthUnit, m.volumeUnit
			k := min(len(m.depths), len(n.depths))
			m.depths, m.vols, n.depths, n.vols = m.depths[:k], m.vols[:k], m.depths[:k], n.vols[:k]
			d.unitsIn = 0
			a, b := d.head(m)
			x, y, z := []any{"Tank", a}, []any{m.name, b}, []any{n.name, b}
			for i := range m.depths {
				x, y, z = append(x, m.depths[i]), append(y, m.vols[i]), append(z, n.vols[i])
			}
			t.row(x...)
			t.row(y...)
			t.row(z...)
			return t, []made{m, n}
		},
		"ids on rows of their own": func(d dress, m, n made) (t bookTable, out []made) {
			n.depthU, n.volU, n.depthUnit, n.volumeUnit = m.depthU, m.volU, m.depthUnit, m.volumeUnit
			d.unitsIn = 0
			a, b := d.head(m)
			t.row("Tank", a, b)
			for _, x := range []made{m, n} {
				t.row(x.name)
				for i := range x.depths {
					t.row(nil, x.depths[i], x.vols[i])
				}
			}
			return t, []made{m, n}
		},
		"compartments": func(d dress, m, n made) (t bookTable, out []made) {
			n.depthU, n.volU, n.depthUnit, n.volumeUnit = m.depthU, m.volU, m.depthUnit, m.volumeUnit
			k := min(len(m.depths), len(n.depths))
			m.depths, m.vols, n.depths, n.vols = m.depths[:k], m.vols[:k], m.depths[:k], n.vols[:k]
			d.unitsIn = 0
			a, _ := d.head(m)
			t.row("Tank " + m.name)
			t.row(a, "Compartment A ("+m.volU+")", "Compartment B ("+m.volU+")")
			for i := range m.depths {
				t.row(m.depths[i], m.vols[i], n.vols[i])
			}
			n.name = m.name + "/B"
			m.name += "/A"
			return t, []made{m, n}
		},
		"manifolded": func(d dress, m, n made) (t bookTable, out []made) {
			d.unitsIn = 0
			a, b := d.head(m)
			t.row("Tanks " + m.name + " and " + n.name + ", manifolded")
			t.row(a, b)
			for i := range m.depths {
				t.row(m.depths[i], m.vols[i])
			}
			m.name += "+" + n.name
			return t, []made{m}
		},
		"pages with a heading each": func(d dress, m, _ made) (t bookTable, out []made) {
			d.unitsIn = 0
			a, b := d.head(m)
			for i := range m.depths {
				if i%12 == 0 {
					if i > 0 {
						t.row(fmt.Sprintf("Page %d of %d", i/12, (len(m.depths)+11)/12))
					}
					t.row("Tank " + m.name)
					t.row(a, b)
				}
				t.row(m.depths[i], m.vols[i])
			}
			return t, []made{m}
		},
		"even steps of volume": func(d dress, m, _ made) (t bookTable, out []made) {
			m = inVolumeSteps(m)
			d.title(&t, m, true)
			a, b := d.head(m)
			t.row(b, a)
			if d.unitsIn == 1 {
				t.row(m.volU, m.depthU)
			}
			for i := range m.depths {
				t.row(m.vols[i], m.depths[i])
			}
			return t, []made{m}
		},
		"percent, area and share behind": func(d dress, m, _ made) (t bookTable, out []made) {
			d.title(&t, m, true)
			a, b := d.head(m)
			t.row(a, b, []string{"Fill", "%", "Percent full"}[d.rng.IntN(3)], "Area", "90 % "+d.words[1])
			if d.unitsIn == 1 {
				t.row(m.depthU, m.volU)
			}
			last := m.vols[len(m.vols)-1]
			for i := range m.depths {
				share := math.Round(m.vols[i]/last*1000) / 10
				t.row(m.depths[i], m.vols[i], share, float64(i*(len(m.depths)-i)), math.Round(m.vols[i]*90)/100)
			}
			return t, []made{m}
		},
		"difference and a second unit": func(d dress, m, _ made) (t bookTable, out []made) {
			d.unitsIn = 0
			a, b := d.head(m)
			other, in := "litres", unit.Litres
			if m.volumeUnit == unit.Litres {
				other, in = "gal", unit.USGallons
			}
			t.row("Tank " + m.name)
			t.row(a, b, "Difference", "Volume ("+other+")")
			for i := range m.depths {
				diff := 0.0
				if i > 0 {
					diff = layout.TidyNumber(m.vols[i] - m.vols[i-1])
				}
				// As fine as the first, so that the first is the one that counts.
				t.row(m.depths[i], m.vols[i], diff, math.Round(in.Number(m.volumeUnit.Volume(m.vols[i]))*100)/100)
			}
			return t, []made{m}
		},
	}
}
