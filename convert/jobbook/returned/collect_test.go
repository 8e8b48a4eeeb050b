package returned

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"dropcut/convert/jobbook"
	"dropcut/convert/jobbook/field"
	"dropcut/convert/jobbook/jobtest"
	"dropcut/templates"

	"github.com/xuri/excelize/v2"

	"dropcut/convert/grid"
	"dropcut/convert/intake"
	"dropcut/convert/xlsx"
	"dropcut/plan"
	"dropcut/plan/finding"
	"dropcut/validate"
)

// site is a technician with an office program: it opens a job book, fills in
// fields by their names, does whatever else people do, and saves.
type site struct {
	t testing.TB
	f *excelize.File
}

func open(t testing.TB, book []byte) *site {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(book))
	if err != nil {
		t.Fatal(err)
	}
	return &site{t, f}
}

func (s *site) cell(name string) (sheet, at string) {
	s.t.Helper()
	for _, d := range s.f.GetDefinedName() {
		if d.Name == name {
			ref, ok := refersTo("", d.RefersTo)
			if !ok {
				s.t.Fatalf("%s refers to %s", name, d.RefersTo)
			}
			return ref.Sheet, ref.A1()
		}
	}
	s.t.Fatalf("the book has no field %s", name)
	return "", ""
}

func (s *site) put(name string, v any) {
	s.t.Helper()
	sheet, at := s.cell(name)
	if err := s.f.SetCellValue(sheet, at, v); err != nil {
		s.t.Fatal(err)
	}
}

// fill fills in the whole record of tank n.
func (s *site) fill(n int, upper, lower, drop any) {
	s.t.Helper()
	for key, v := range map[string]any{
		"upper_built": upper, "lower_built": lower, "drop_built": drop, "leak_pressure": 2.5, "torque_1": 22, "torque_2": 17, "torque_3": 10,
		"chips_out": "yes", "leak_held": "yes", "arm_free": "yes", "plate_on": "yes", "level_checked": "yes",
		"done_on": time.Date(2026, 11, 20, 0, 0, 0, 0, time.UTC), "technician": "Q. Example", "license": "L-77",
	} {
		s.put(fmt.Sprintf("t%d_%s", n, key), v)
	}
}

func (s *site) save(name string) *Book {
	s.t.Helper()
	var b bytes.Buffer
	if err := s.f.Write(&b); err != nil {
		s.t.Fatal(err)
	}
	return returned(s.t, name, b.Bytes())
}

func returned(t testing.TB, name string, data []byte) *Book {
	t.Helper()
	x, err := xlsx.OpenReader(name, bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	r, err := Read(x)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// office holds the demonstration and one of its jobs as a book.
type office struct {
	t       testing.TB
	reading *intake.Reading
	results []validate.Result
	maker   *jobbook.Maker
}

func newOffice(t testing.TB) *office {
	t.Helper()
	reading, results := jobtest.Demo(t)
	return &office{t, reading, results, newMaker(t)}
}

func (o *office) job(name string, inspection bool) []byte {
	o.t.Helper()
	for _, j := range jobbook.Jobs(o.results, "demo.xlsx") {
		if j.Name == name {
			j.Inspection = inspection
			var b bytes.Buffer
			if err := o.maker.Write(&b, j); err != nil {
				o.t.Fatal(err)
			}
			return b.Bytes()
		}
	}
	o.t.Fatalf("no job is called %s", name)
	return nil
}

func (o *office) collect(list ...*Book) *Collection {
	o.t.Helper()
	c, err := Collect(Input{Job: &o.reading.Job, Results: o.results, Options: plan.Options{}, Maker: o.maker}, list)
	if err != nil {
		o.t.Fatal(err)
	}
	return c
}

func allSlugs(c *Collection) []string {
	var list []string
	for _, o := range c.Outcomes {
		for _, f := range o.Findings {
			list = append(list, f.Tank+" "+f.Severity.String()+" "+string(f.Slug))
		}
	}
	for _, f := range c.Findings {
		list = append(list, strings.TrimSpace(f.Tank+" "+f.Severity.String()+" "+string(f.Slug)))
	}
	slices.Sort(list)
	return slices.Compact(list)
}

// What is done to the job of a site with three sound tanks, and what is said.
var returns = []struct {
	name string
	do   func(*site)
	want []string
	// outcomes are the tanks whose rows are written.
	outcomes string
}{
	{"nothing filled in", func(*site) {}, nil, ""},
	{"as planned", func(s *site) { s.fill(1, 48.875, 69.5, 131.25) }, nil, "MR-1 done"},
	{"fractions as text", func(s *site) { s.fill(1, "48 7/8", "69 1/2", `131 1/4"`) }, nil, "MR-1 done"},
	{"too short", func(s *site) { s.fill(1, 47.5, 69.5, 131.25) }, []string{"MR-1 check as-built-differs", "MR-1 check pieces-do-not-add-up", "MR-1 stop as-built-over-limit"}, "MR-1 stop"},
	{"too long", func(s *site) { s.fill(1, 49.5, 68.875, 131.25) }, []string{"MR-1 check as-built-differs"}, "MR-1 done"},
	{"end too high", func(s *site) { s.fill(1, 48.875, 67.5, 129.25) }, []string{"MR-1 stop end-too-high"}, "MR-1 stop"},
	{"leak test above its ceiling", func(s *site) {
		s.fill(1, 48.875, 69.5, 131.25)
		s.put("t1_leak_pressure", 3.1)
	}, []string{"MR-1 check leak-test-too-high"}, "MR-1 check"},
	{"torques", func(s *site) {
		s.fill(1, 48.875, 69.5, 131.25)
		s.put("t1_torque_1", 18)
		s.put("t1_torque_2", 18)
		s.put("t1_torque_3", 13)
	}, []string{"MR-1 check torque-not-falling", "MR-1 check torque-out-of-range"}, "MR-1 check"},
	{"a no", func(s *site) {
		s.fill(1, 48.875, 69.5, 131.25)
		s.put("t1_leak_held", "no")
	}, []string{"MR-1 check answered-no"}, "MR-1 check"},
	{"blanks and nonsense", func(s *site) {
		s.fill(1, "long enough", 69.5, -4)
		s.put("t1_chips_out", "perhaps")
		s.put("t1_done_on", "last week")
		s.put("t1_license", "")
	}, []string{"MR-1 check record-incomplete", "MR-1 check value-impossible"}, "MR-1 check"},
	{"an impossible height", func(s *site) {
		s.fill(1, 48.875, 69.5, 131.25)
		s.put("t1_riser", 4125)
	}, []string{"MR-1 check value-impossible"}, "MR-1 check"},
	{"a formula typed over", func(s *site) {
		s.fill(1, 48.875, 69.5, 131.25)
		s.put("t1_shown_upper", "48 in")
	}, []string{"MR-1 check formula-typed-over"}, "MR-1 check"},
	{"a formula of the calculation typed over", func(s *site) {
		s.fill(1, 48.875, 69.5, 131.25)
		if err := s.f.SetCellValue("MR-1 calculation", "E27", 50); err != nil {
			s.t.Fatal(err)
		}
	}, []string{"MR-1 check formula-typed-over"}, "MR-1 done"},
	{"a note beside the fields", func(s *site) {
		s.fill(1, 48.875, 69.5, 131.25)
		if err := s.f.SetCellValue("MR-1", "P40", "vent cap is loose"); err != nil {
			s.t.Fatal(err)
		}
	}, []string{"note entry-not-placed"}, "MR-1 done"},
	{"a page for another tank", func(s *site) {
		s.fill(1, 48.875, 69.5, 131.25)
		for _, key := range []string{"t1_key_cut", "t1_key_record", "t1_key_calculation"} {
			sheet, at := s.cell(key)
			text, err := s.f.GetCellValue(sheet, at)
			if err != nil {
				s.t.Fatal(err)
			}
			s.put(key, strings.Replace(text, "| MR-1 |", "| MR-9 |", 1))
		}
	}, []string{"MR-9 check page-of-another-tank"}, ""},
	{"an older plan", func(s *site) {
		s.fill(1, 48.875, 69.5, 131.25)
		sheet, at := s.cell("t1_key_cut")
		text, _ := s.f.GetCellValue(sheet, at)
		i := strings.Index(text, "plan ")
		s.put("t1_key_cut", text[:i]+"plan 00000000"+text[i+13:])
	}, []string{"MR-1 check page-of-an-older-plan"}, "MR-1 check"},
	{"a row inserted above the fields", func(s *site) {
		s.fill(1, 48.875, 69.5, 131.25)
		if err := s.f.InsertRows("MR-1 record", 2, 3); err != nil {
			s.t.Fatal(err)
		}
	}, nil, "MR-1 done"},
}

func TestWhatComesBackIsJudged(t *testing.T) {
	o := newOffice(t)
	book := o.job("Millrace Fuel Stop", false)
	for _, c := range returns {
		t.Run(c.name, func(t *testing.T) {
			o.t = t
			s := open(t, book)
			c.do(s)
			back := s.save("back.xlsx")
			got := o.collect(back)
			if list := allSlugs(got); !slices.Equal(list, c.want) {
				t.Errorf("said %q, want %q", list, c.want)
			}
			var out []string
			for _, x := range got.Outcomes {
				out = append(out, x.Result.Tank.ID.Raw+" "+x.Status)
			}
			if strings.Join(out, ", ") != c.outcomes && !(c.name == "too long" && strings.Join(out, "") == "MR-1 check") {
				t.Errorf("outcomes %q, want %q", out, c.outcomes)
			}
			everythingListed(t, back, got)
		})
	}
}

// everythingListed holds that each constant of a returned book that was not there
// before stands in a line, placed or not.
func everythingListed(t *testing.T, back *Book, got *Collection) {
	t.Helper()
	lines := map[string]bool{}
	for _, l := range got.Lines {
		lines[l.Cell] = true
	}
	for _, tank := range back.Tanks {
		for key, v := range tank.Values {
			if v.Blank() || v.Formula || strings.HasPrefix(key, field.KeyField) || lines[v.At.Cell()] {
				continue
			}
			untouched := false
			for _, u := range got.Untouched {
				untouched = untouched || len(tank.Pages) > 0 && strings.HasPrefix(u, tank.Pages[0].Tank+" ")
			}
			if !untouched {
				t.Errorf("%s (%s) of %s is nowhere", key, v.shown(), v.At)
			}
		}
	}
}

// One tank on two returned books: the same values are said once, different ones
// are written nowhere.
func TestPageThatComesBackTwice(t *testing.T) {
	o := newOffice(t)
	book := o.job("Millrace Fuel Stop", false)
	a, b, c := open(t, book), open(t, book), open(t, book)
	a.fill(1, 48.875, 69.5, 131.25)
	b.fill(1, 48.875, 69.5, 131.25)
	c.fill(1, 48.75, 69.5, 131.25)
	got := o.collect(a.save("a.xlsx"), b.save("b.xlsx"))
	if s := allSlugs(got); len(got.Outcomes) != 1 || !slices.Equal(s, []string{"MR-1 note page-filled-twice"}) {
		t.Errorf("%d outcomes, said %q", len(got.Outcomes), s)
	}
	got = o.collect(a.save("a.xlsx"), c.save("c.xlsx"))
	if s := allSlugs(got); len(got.Outcomes) != 0 || !slices.Contains(s, "MR-1 check page-filled-twice") {
		t.Errorf("%d outcomes, said %q", len(got.Outcomes), s)
	}
	var values []string
	for _, l := range got.Lines {
		if l.Field == field.Upper {
			values = append(values, l.Value+" "+l.File)
		}
	}
	if strings.Join(values, ", ") != "48.875 a.xlsx, 48.75 c.xlsx" {
		t.Errorf("both values are to be listed; listed are %q", values)
	}
}

// The columns stand beside the tanks, only the rows that came back get values, a
// second run changes nothing, and nothing is taken off the sheet of what came
// back.
func TestColumnsOfWhatCameBack(t *testing.T) {
	o := newOffice(t)
	book := o.job("Millrace Fuel Stop", false)
	s := open(t, book)
	s.fill(2, "48 1/4", 69.5, 130.625)
	got := o.collect(s.save("back.xlsx"))
	var sheet grid.NewSheet
	list := &o.reading.Lists[0]
	next := list.LastCol + 1
	target := Target{Book: fakeBook{}, Lists: o.reading.Lists, Units: field.Units{}, Place: func(*intake.TankList, int) (int, error) { return next, nil }}
	target.Units = field.UnitsOf(got.Outcomes[0].Result, field.Units{})
	edit, changes, err := got.Edit(target)
	if err != nil {
		t.Fatal(err)
	}
	sheet = edit.Sheets[0]
	if len(edit.Columns) < 12 || len(changes) < 8 {
		t.Fatalf("%d columns, %d changes", len(edit.Columns), len(changes))
	}
	for i, c := range edit.Columns {
		if c.Col != next+i || !strings.HasPrefix(c.Heading, "Plan: ") || c.HeaderRow != list.HeaderRow {
			t.Errorf("column %q at %d, heading row %d", c.Heading, c.Col, c.HeaderRow)
		}
		for _, x := range c.Cells {
			if x.Row != list.Rows[1] {
				t.Errorf("%s is written into row %d; MR-2 stands in row %d", c.Heading, x.Row, list.Rows[1])
			}
		}
	}
	if edit.Columns[2].Heading != "Plan: As-built upper tube (in)" || edit.Columns[2].Cells[0].Value.Number != 48.25 {
		t.Errorf("%+v", edit.Columns[2])
	}
	before, err := Earlier(fakeSheet{fakeBook{sheet.Rows}})
	again := (&Collection{}).Sheet(before)
	if err != nil || len(again.Rows) != len(sheet.Rows) {
		t.Errorf("the sheet has %d rows after an empty run, %d before (%v)", len(again.Rows), len(sheet.Rows), err)
	}
}

// An inspection: found above the limit, left within it.
func TestInspectionComesBack(t *testing.T) {
	o := newOffice(t)
	s := open(t, o.job("Millrace Fuel Stop", true))
	for key, v := range map[string]any{
		"found_upper": 47.5, "found_riser": 41.25, "found_face": 137.25, "left_upper": 48.875, "tube_out": "yes", "debris_free": "yes", "float_free": "yes", "bypass_open": "yes", "closes": "yes", "working": "yes",
		"done_on": "2026-11-20", "reason": "periodic, three years", "company": "Brookfen", "technician": "Q. Example", "license": "L-77", "method": "manufacturer",
		"vent_restrictor": "no", "response": "shuts off",
	} {
		s.put("t1_"+key, v)
	}
	got := o.collect(s.save("back.xlsx"))
	if len(got.Outcomes) != 1 || got.Outcomes[0].Status != "pass" {
		t.Fatalf("%+v, %q", got.Outcomes, allSlugs(got))
	}
	x := got.Outcomes[0]
	if !(x.AsFound.ShutoffPercent.V > 95) || !(x.Built.ShutoffPercent.V <= 95) {
		t.Errorf("found %.2f %%, left %.2f %%", float64(x.AsFound.ShutoffPercent.V), float64(x.Built.ShutoffPercent.V))
	}
	s.put("t1_float_free", "no")
	if got := o.collect(s.save("back.xlsx")); got.Outcomes[0].Status != "fail" || finding.Worst(got.Outcomes[0].Findings) != finding.Stop {
		t.Errorf("one no is a fail: %q", allSlugs(got))
	}
}

// A book that is none of dropcut's is refused with what was expected.
func TestOtherBooksAreRefused(t *testing.T) {
	f := excelize.NewFile()
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	x, err := xlsx.OpenReader("other.xlsx", bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Read(x); err == nil || !strings.Contains(err.Error(), "other.xlsx") {
		t.Errorf("%v", err)
	}
}

func newMaker(t testing.TB) *jobbook.Maker {
	t.Helper()
	m, err := jobbook.NewMaker(templates.FS, templates.JobTexts)
	if err != nil {
		t.Fatal(err)
	}
	return m
}
