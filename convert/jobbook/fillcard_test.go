package jobbook

import (
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"

	"dropcut/convert/jobbook/formula"
	"dropcut/convert/jobbook/jobtest"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// cardLine is a line of a fill card as it is read on paper.
type cardLine struct {
	stick unit.Length
	most  float64 // in the chart's unit; 0 for NOTHING
}

// readCard reads the lines of a fill card off its page, in their order.
func readCard(t *testing.T, m *Maker, r *validate.Result) []cardLine {
	t.Helper()
	b, err := m.Book(Job{Name: "J", Results: []*validate.Result{r}})
	if err != nil {
		t.Fatal(err)
	}
	s := b.Sheet(strings.ReplaceAll(r.Tank.ID.Raw, "/", "-") + " fill card")
	if s == nil {
		return nil
	}
	depth := r.Chart.DepthUnit
	if s.Value("", 1, 3).Text == "NO FILL CARD" {
		return nil
	}
	var list []cardLine
	for block := range cardBlocks {
		for row := 1; row <= s.Rows(); row++ {
			stick, most := s.Value("", 1+2*block, row), s.Value("", 2+2*block, row)
			if stick.Kind != formula.Text || most.Kind != formula.Text {
				continue
			}
			l, err := unit.ParseLength(stick.Text, depth, unit.DecimalPoint)
			if err != nil {
				continue // a heading
			}
			x := 0.0
			if most.Text != "NOTHING" {
				if x, err = strconv.ParseFloat(strings.ReplaceAll(most.Text, ",", ""), 64); err != nil {
					continue
				}
			}
			list = append(list, cardLine{l, x})
		}
	}
	return list
}

// What a card lets a driver deliver is, at every line, strictly less than the room
// between the chart's own volume at that reading and the limit (40 CFR 280.30(a)),
// and from the reading on at which the limit is reached it is nothing.
func TestFillCardStaysBelowTheRoom(t *testing.T) {
	m := newMaker(t)
	_, demo := jobtest.Demo(t)
	var list []*validate.Result
	for i := range demo {
		list = append(list, &demo[i])
	}
	r := rand.New(rand.NewPCG(21, 4))
	for n := range 40 {
		job, o := randomTank(t, r, n)
		list = append(list, judged(job, o))
	}
	cards, lines := 0, 0
	for _, x := range list {
		card := readCard(t, m, x)
		if len(card) == 0 {
			if x.Status != validate.Stop && x.Chart != nil && x.Cut.LimitVolume.Known && finding.Worst(x.Findings) != finding.Stop {
				t.Errorf("%s (%s) has no fill card", x.Tank.ID.Raw, x.Status)
			}
			continue
		}
		cards++
		k, err := chart.NewCurve(x.Chart)
		if err != nil {
			t.Fatal(err)
		}
		if !slices.IsSortedFunc(card, func(a, b cardLine) int { return int(math.Copysign(1, float64(a.stick-b.stick))) }) {
			t.Errorf("%s: the readings do not rise", x.Tank.ID.Raw)
		}
		for i, l := range card {
			lines++
			held := heldAt(x.Chart, min(l.stick, k.Top()))
			room := x.Chart.VolumeUnit.Number(x.Cut.LimitVolume.V) - held
			if l.most > 0 && l.most >= room {
				t.Errorf("%s at %v: %v may be delivered into a room of %v", x.Tank.ID.Raw, l.stick, l.most, room)
			}
			if l.most == 0 && i != len(card)-1 {
				t.Errorf("%s: a line follows on NOTHING", x.Tank.ID.Raw)
			}
			if i > 0 && l.most >= card[i-1].most && l.most > 0 && held > heldAt(x.Chart, card[i-1].stick) {
				t.Errorf("%s at %v: more fuel may be delivered into a fuller tank", x.Tank.ID.Raw, l.stick)
			}
		}
		if last := card[len(card)-1]; last.most != 0 {
			t.Errorf("%s: the last reading, %v, still takes %v", x.Tank.ID.Raw, last.stick, last.most)
		}
	}
	if cards < 50 || lines < 2000 {
		t.Errorf("%d cards of %d lines were read", cards, lines)
	}
}

// heldAt reads a chart as a person does: the row at or below a depth, which is the
// least that the tank can hold there.
func heldAt(c *chart.Chart, depth unit.Length) float64 {
	held := 0.0
	for i := range c.Rows {
		if c.DepthUnit.Length(c.Rows[i].Depth) <= depth+unit.Guard {
			held = max(held, c.Rows[i].Volume)
		}
	}
	return held
}
