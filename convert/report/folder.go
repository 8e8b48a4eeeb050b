package report

import (
	"cmp"
	"errors"
	"fmt"
	"iter"
	"slices"
	"strings"

	"dropcut/plan/finding"
	"dropcut/plan/unit"
	"dropcut/validate"
	"dropcut/validate/portfolio"
)

// Records are the records of a folder's books, in the order of their paths.
// Open and Before may be called from several goroutines.
type Records struct {
	N    int
	Open func(i int) (Source, error)
	// Before gives what the last finished run kept of a book, nil for a book that
	// it did not have, ErrRecord where another version of the program has kept it.
	// It is nil itself where no run has finished before.
	Before func(path string) (*Book, error)
	// Same says that the record of a book is the one that Before would give, so that
	// there is nothing to compare. It may be nil.
	Same func(i int) bool
	// Gone are the books of that run that are not in the folder any more.
	Gone []string
}

// with opens a record, reads parts of it and lets somebody use it.
func (r Records) with(i int, want parts, do func(*kept) error) error {
	f, err := r.Open(i)
	if err != nil {
		return err
	}
	k, err := open(f)
	if err == nil {
		err = k.read(want)
	}
	if err == nil {
		err = do(k)
	}
	return errors.Join(err, f.Close())
}

// books reads parts of the books one after the other.
func (r Records) books(want parts) iter.Seq2[int, result] {
	return func(yield func(int, result) bool) {
		for i := range r.N {
			var k *kept
			err := r.with(i, want, func(x *kept) error { k = x; return nil })
			if err != nil {
				yield(i, result{err: err})
				return
			}
			if !yield(i, result{book: &k.Book, kinds: k.Kinds}) {
				return
			}
		}
	}
}

type result struct {
	book  *Book
	kinds []kindHead
	err   error
}

// Folder is what a run has to say of all books together.
type Folder struct {
	// Name is what the folder is called, Settings what the run was told ("--place
	// US-federal"), Version the program's. Day is the day of the plan as in
	// 2026-03-15, "" where no day was given.
	Name, Settings, Version, Day string
	Units                        Units

	Books, Tanks, Charts, Rows int
	Status                     map[validate.Status]int
	Failed                     []FailedBook
	Kinds                      []KindCount
	Orders                     []Order
	Due                        []Due
	Changes                    Changes
	// Stopped says that at least one tank or book has a stop.
	Stopped bool

	empty   int // of Books, those that hold nothing
	perPage int // tanks a page, PageTanks where it is 0
	records Records
	across  map[int][]portfolio.Found // by book
	stands  []stand                   // of each book
	paths   []string
}

// stand counts the tanks of a book, all of them and by status.
type stand struct {
	tanks  int32
	status [statusCount]int32
}

// FailedBook is a book that could not be done.
type FailedBook struct{ Path, Why string }

// KindCount counts the findings of one kind, and the tanks that it holds for.
type KindCount struct {
	Slug            finding.Slug
	Worst           finding.Severity
	Findings, Tanks int
	// Severe is how many of the findings are of the worst severity.
	Severe        int
	About, Advice string
}

// Due is an inspection that is due.
type Due struct {
	Day, Last, Book, Site, Tank, Rule string
}

// Month is the month of the day, as in 2026-03.
func (d Due) Month() string { return d.Day[:min(7, len(d.Day))] }

// Gather reads the records and puts together what holds for all of them. set is
// the folder's name, settings, version, day and units.
func Gather(records Records, set Folder) (*Folder, error) {
	f := set
	f.records, f.across, f.Status = records, map[int][]portfolio.Found{}, map[validate.Status]int{}
	view := portfolio.New()
	index := map[string]int{}
	f.Changes = Changes{First: records.Before == nil}
	f.Changes.gone(records.Gone)
	for i, r := range records.books(withAcross) {
		if r.err != nil {
			return nil, r.err
		}
		b := r.book
		index[b.Path] = i
		if records.Same != nil && records.Same(i) {
			if b.Failed == "" {
				view.Look(b.Across)
			}
			continue
		}
		if records.Before != nil {
			if err := records.with(i, withTanks, func(k *kept) error { b.Tanks = k.Tanks; return nil }); err != nil {
				return nil, err
			}
		}
		before, err := f.before(b)
		switch {
		case errors.Is(err, ErrRecord):
			f.Changes.Unknown++
		case err != nil:
			return nil, err
		default:
			f.Changes.book(before, b, f.Units)
		}
		if b.Failed != "" {
			continue
		}
		view.Look(b.Across)
		if before != nil && before.Across != nil {
			f.across[i] = append(f.across[i], portfolio.Moved(before.Across, b.Across)...)
		}
	}
	for _, r := range records.books(withAcross) {
		if r.err != nil {
			return nil, r.err
		}
		if r.book.Failed == "" {
			view.Add(r.book.Across)
		}
	}
	for _, found := range view.Findings() {
		i := index[found.Book]
		f.across[i] = append(f.across[i], found)
	}
	return &f, f.count()
}

func (f *Folder) before(b *Book) (*Book, error) {
	if f.records.Before == nil {
		return nil, nil
	}
	return f.records.Before(b.Path)
}

// count makes the totals, now that it is known what shows across the books.
func (f *Folder) count() error {
	kinds := map[finding.Slug]*KindCount{}
	kind := func(slug finding.Slug) *KindCount {
		k := kinds[slug]
		if k == nil {
			k = &KindCount{Slug: slug}
			kinds[slug] = k
		}
		return k
	}
	found := func(slug finding.Slug, s finding.Severity, n int) {
		k := kind(slug)
		k.Findings += n
		switch {
		case s > k.Worst || k.Severe == 0:
			k.Worst, k.Severe = s, n
		case s == k.Worst:
			k.Severe += n
		}
	}
	type need struct {
		device, item string
		stock        float64
	}
	orders := map[need]*Order{}
	// Days, rules and sites are few beside the tanks, and each is kept once.
	texts := map[string]string{}
	same := func(s string) string {
		if t, ok := texts[s]; ok {
			return t
		}
		texts[s] = s
		return s
	}
	f.stands, f.paths = make([]stand, f.records.N), make([]string, f.records.N)
	for i, r := range f.records.books(withTanks) {
		if r.err != nil {
			return r.err
		}
		b := r.book
		f.Books++
		f.paths[i] = b.Path
		if b.Empty {
			f.empty++
		}
		if b.Failed != "" {
			f.Failed = append(f.Failed, FailedBook{b.Path, b.Failed})
			continue
		}
		f.Charts += b.Charts
		f.Rows += b.Rows
		for _, k := range r.kinds {
			f.Stopped = f.Stopped || k.Severity == finding.Stop
			found(k.Slug, k.Severity, k.N)
		}
		f.stands[i].tanks = int32(len(b.Tanks))
		for _, x := range f.across[i] {
			found(x.Slug, x.Severity, 1)
		}
		for t, tank := range f.tanks(i, b) {
			f.Tanks++
			f.Status[tank.Status]++
			if at := slices.Index(statuses(), tank.Status); at >= 0 {
				f.stands[i].status[at]++
			}
			var last finding.Slug
			for _, flag := range tank.Flags {
				if flag.Slug != last {
					kind(flag.Slug).Tanks++
				}
				last = flag.Slug
			}
			if day := b.Tanks[t].NextInspection; day != "" {
				f.Due = append(f.Due, Due{same(day), same(tank.LastInspection), b.Path, same(tank.Site), tank.ID, same(tank.InspectionRule)})
			}
		}
		for _, o := range b.Orders {
			k := need{o.Device, o.Item, o.Stock.V}
			sum := orders[k]
			if sum == nil {
				sum = &Order{Device: o.Device, Item: o.Item, Stock: o.Stock}
				orders[k] = sum
			}
			sum.Ready += o.Ready
			sum.All += o.All
			sum.Pieces += o.Pieces
			sum.AllPieces += o.AllPieces
		}
	}
	about := map[finding.Slug]finding.Kind{}
	for _, k := range finding.Kinds() {
		about[k.Slug] = k
	}
	for slug, k := range kinds {
		k.About, k.Advice = about[slug].About, about[slug].Advice
		f.Kinds = append(f.Kinds, *k)
	}
	slices.SortFunc(f.Kinds, func(a, b KindCount) int {
		return cmp.Or(cmp.Compare(b.Worst, a.Worst), cmp.Compare(b.Findings, a.Findings), cmp.Compare(a.Slug, b.Slug))
	})
	for _, o := range orders {
		f.Orders = append(f.Orders, *o)
	}
	slices.SortFunc(f.Orders, compareOrders)
	slices.SortStableFunc(f.Due, func(a, b Due) int { return cmp.Compare(a.Day, b.Day) })
	return nil
}

// tanks gives the tanks of a book as the whole folder lets them appear: what
// shows across the books is added to the flags, and a tank that is ready by its
// own book is none any more where a person has to look first.
func (f *Folder) tanks(i int, b *Book) iter.Seq2[int, *Tank] {
	extra := map[int][]Flag{}
	for _, x := range f.across[i] {
		for _, t := range x.Tanks {
			if flag := (Flag{x.Severity, x.Slug}); !slices.Contains(extra[t], flag) {
				extra[t] = append(extra[t], flag)
			}
		}
	}
	return func(yield func(int, *Tank) bool) {
		for t := range b.Tanks {
			tank := b.Tanks[t]
			if more := extra[t]; len(more) > 0 {
				tank.Flags = slices.Concat(tank.Flags, more)
				slices.SortStableFunc(tank.Flags, func(a, b Flag) int {
					return cmp.Or(cmp.Compare(b.Severity, a.Severity), cmp.Compare(a.Slug, b.Slug))
				})
				if tank.Status == validate.Ready && tank.Flags[0].Severity >= finding.Check {
					tank.Status = validate.Check
				}
			}
			if !yield(t, &tank) {
				return
			}
		}
	}
}

// StatusLine counts the tanks in words: "4,987 tanks in 200 books, 4,012 ready,
// 310 measure, 512 check, 153 stop".
func (f *Folder) StatusLine() string {
	s := count(f.Tanks, "tank", "tanks") + " in " + count(f.Books-f.empty, "book", "books")
	for _, st := range statuses() {
		if n := f.Status[st]; n > 0 {
			s += ", " + grouped(n) + " " + string(st)
		}
	}
	return s
}

const statusCount = 4

func statuses() []validate.Status {
	return []validate.Status{validate.Ready, validate.Measure, validate.Check, validate.Stop}
}

func flagsText(flags []Flag) string {
	parts := make([]string, len(flags))
	for i, f := range flags {
		parts[i] = f.Severity.String() + ": " + string(f.Slug)
	}
	return strings.Join(parts, "; ")
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return grouped(n) + " " + many
}

func grouped(n int) string { return unit.GroupedText(fmt.Sprint(n)) }

func joined(list []string) string { return strings.Join(list, "; ") }

// titleOf puts the names of the units into a heading.
func titleOf(title string, u Units) string {
	return strings.NewReplacer("{in}", u.Length.String(), "{gal}", u.Volume.String()).Replace(title)
}
