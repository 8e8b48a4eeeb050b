package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"

	"github.com/urfave/cli/v2"
	"golang.org/x/sync/errgroup"

	"dropcut/convert/csvfile"
	"dropcut/convert/safefile"
	"dropcut/convert/starter"
	"dropcut/templates"
)

// portfolioOptions say what demo --tanks is to make.
type portfolioOptions struct {
	*options
	tanks, books int
	csv          bool
	seed         uint64
}

func (p *portfolioOptions) flags() []cli.Flag {
	return []cli.Flag{
		&cli.IntFlag{Name: "tanks", Usage: "write an invented portfolio of `N` tanks", DefaultText: "the 18 tanks of the demonstration", Destination: &p.tanks},
		&cli.IntFlag{Name: "books", Usage: "in `K` books", DefaultText: "books of 25 to 5,000 tanks", Destination: &p.books},
		&cli.BoolFlag{Name: "csv", Usage: "each book a folder of CSV files", Destination: &p.csv},
		&cli.Uint64Flag{Name: "seed", Usage: "another `NUMBER` gives another portfolio, the same one the same bytes", Value: 1, Destination: &p.seed},
		p.quietFlag(),
	}
}

func (p *portfolioOptions) wanted(c *cli.Context) bool {
	return c.IsSet("tanks") || c.IsSet("books") || c.IsSet("csv") || c.IsSet("seed")
}

// spoilt is a row of faults.csv.
type spoilt struct {
	Book  string `csv:"book"`
	Tank  string `csv:"tank"`
	Fault string `csv:"fault"`
}

// run writes the portfolio, as many books at a time as there are processors.
func (p *portfolioOptions) run(ctx context.Context, w *world, dir string) error {
	if p.tanks < 1 {
		return usagef("--tanks %d: the number of tanks is missing or below 1", p.tanks)
	}
	if p.books < 0 || p.books > p.tanks {
		return usagef("--books %d: expected 1 to %d, since each book needs a tank", p.books, p.tanks)
	}
	tables, err := starter.DemoTables(templates.FS, templates.DemoDir)
	if err != nil {
		return err
	}
	books, err := starter.Portfolio{Tanks: p.tanks, Books: p.books, Seed: p.seed}.List(tables)
	if err != nil {
		return err
	}
	switch entries, err := os.ReadDir(dir); {
	case errors.Is(err, fs.ErrNotExist):
		if err := os.MkdirAll(dir, 0o777); err != nil {
			return err
		}
	case err != nil:
		return err
	case len(entries) > 0:
		return usagef("%s holds files already, among them %s; name a new or an empty folder", dir, entries[0].Name())
	}
	var total starter.PortfolioCount
	done := make(chan starter.PortfolioCount)
	finished := make(chan int)
	go func() { // adds up; the figures do not depend on the order
		n := 0
		for c := range done {
			total.Add(c)
			if n++; !p.quiet && n%50 == 0 {
				fmt.Fprintf(w.err, "%s, %s\n", count(n, "book", "books"), count(total.Tanks, "tank", "tanks"))
			}
		}
		finished <- n
	}()
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	for b := range books {
		if ctx.Err() != nil {
			break
		}
		group.Go(func() error {
			c, err := p.book(dir, &b)
			done <- c
			return err
		})
	}
	err = group.Wait()
	close(done)
	n := <-finished
	if err == nil && ctx.Err() != nil && total.Tanks < p.tanks {
		err = context.Canceled
	}
	if err != nil {
		return err
	}
	if err := writeSpoilt(filepath.Join(dir, "faults.csv"), books, p.csv); err != nil {
		return err
	}
	fmt.Fprintf(w.out, "%s\n  %s: %s, %s with %s; %s spoilt on purpose, see faults.csv\n", dir, count(n, "book", "books"), count(total.Tanks, "tank", "tanks"),
		count(total.Charts, "chart", "charts"), count(total.Rows, "row", "rows"), count(total.Faults, "tank", "tanks"))
	return nil
}

// book writes one book; it is there whole or not at all.
func (p *portfolioOptions) book(dir string, b *starter.PortfolioBook) (made starter.PortfolioCount, err error) {
	path := filepath.Join(dir, b.Name)
	if !p.csv {
		err = safefile.Write(path+".xlsx", func(out io.Writer) error {
			made, err = b.Workbook(out)
			return err
		}, nil)
		return made, err
	}
	part := path + ".part"
	if err := os.Mkdir(part, 0o777); err != nil {
		return made, err
	}
	made, err = b.CSV(func(name string) (io.WriteCloser, error) { return os.Create(filepath.Join(part, name)) })
	if err == nil {
		err = os.Rename(part, path)
	}
	if err != nil {
		return made, errors.Join(err, os.RemoveAll(part))
	}
	return made, nil
}

// writeSpoilt lists what was spoilt on purpose, in the order of the books.
func writeSpoilt(path string, books func(func(starter.PortfolioBook) bool), folders bool) error {
	return safefile.Write(path, func(out io.Writer) error {
		var rows []spoilt
		for b := range books {
			name := b.Name + ".xlsx"
			if folders {
				name = b.Name
			}
			for tank, fault := range b.Faults() {
				rows = append(rows, spoilt{name, tank, fault})
			}
		}
		return csvfile.Write(out, rows)
	}, nil)
}
