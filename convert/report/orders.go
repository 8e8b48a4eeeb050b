package report

import (
	"slices"
	"strings"

	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// ordersOf says what a book's tanks need: devices, and stock tubes for the
// pieces that are cut from them. Only tanks with a length are counted.
func ordersOf(results []validate.Result) []Order {
	type key struct {
		device, item string
		stock        unit.Length
	}
	type need struct{ ready, all []plan.Piece }
	needs := map[key]*need{}
	add := func(k key, r *validate.Result, l unit.Length) {
		n := needs[k]
		if n == nil {
			n = &need{}
			needs[k] = n
		}
		p := plan.Piece{For: r.Tank.ID.Raw, Length: l}
		n.all = append(n.all, p)
		if r.Status == validate.Ready {
			n.ready = append(n.ready, p)
		}
	}
	for i := range results {
		r := &results[i]
		d := r.Device
		if d == nil || (r.Status != validate.Ready && r.Status != validate.Check) || !r.Cut.UpperTube.Known {
			continue
		}
		add(key{d.Name.Raw, "device", 0}, r, 1)
		tube := func(item string, v plan.Value[unit.Length], stock cell.Of[unit.Length]) {
			if v.Known && stock.Given() && stock.V > 0 {
				add(key{d.Name.Raw, item, stock.V}, r, v.V)
			}
		}
		tube("upper tube", r.Cut.UpperTube, d.StockUpper)
		tube("lower tube", r.Cut.LowerTube, d.StockLower)
	}
	list := make([]Order, 0, len(needs))
	for k, n := range needs {
		o := Order{Device: k.device, Item: k.item, Stock: Num{float64(k.stock), k.stock > 0}, Pieces: len(n.ready), AllPieces: len(n.all)}
		if k.stock > 0 {
			o.Ready, o.All = tubes(n.ready, k.stock), tubes(n.all, k.stock)
		} else {
			o.Ready, o.All = len(n.ready), len(n.all)
		}
		list = append(list, o)
	}
	slices.SortFunc(list, compareOrders)
	return list
}

func compareOrders(a, b Order) int {
	if c := strings.Compare(a.Device, b.Device); c != 0 {
		return c
	}
	if c := strings.Compare(a.Item, b.Item); c != 0 {
		return c
	}
	return int(a.Stock.V*64) - int(b.Stock.V*64)
}

// tubes gives the number of stock tubes for some pieces. A piece longer than the
// stock needs a tube of a length that is not sold; it counts as one tube each.
func tubes(pieces []plan.Piece, stock unit.Length) int {
	n := 0
	fits := make([]plan.Piece, 0, len(pieces))
	for _, p := range pieces {
		if p.Length > stock {
			n++
			continue
		}
		fits = append(fits, p)
	}
	c, err := plan.CutFromStock(fits, stock, plan.SawCut)
	if err != nil {
		return n + len(fits) // a length that no plan gives; a tube each is never too few
	}
	return n + len(c.Stick)
}
