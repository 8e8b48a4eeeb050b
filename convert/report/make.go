package report

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"slices"
	"strings"
	"time"

	"github.com/klauspost/compress/gzip"

	"dropcut/convert/drawing"
	"dropcut/convert/writeback"
	"dropcut/plan"
	"dropcut/plan/cell"
	"dropcut/plan/chart"
	"dropcut/plan/finding"
	"dropcut/plan/unit"
	"dropcut/validate"
	"dropcut/validate/portfolio"
)

// Units are the units that people read in tables and pages.
type Units struct {
	Length unit.LengthUnit
	Volume unit.VolumeUnit
}

// Input is what a record is made from.
type Input struct {
	Path     string // of the book in the folder, with slashes
	Job      *plan.Job
	Results  []validate.Result
	Findings []finding.Finding // of the reading and of every tank
	Sources  []writeback.Source
	Units    Units // in which pictures are lettered
	Files    []string
	Notes    []string
}

// bundleSize is how many tanks share a bundle: their pictures and words are much
// alike, so that together they take a third of the room, and a page unpacks one
// bundle in a few hundredths of a second.
const bundleSize = 32

// Make makes the record of a book.
func Make(in Input) (*Record, error) {
	rec := &Record{Book: Book{
		Path: in.Path, Files: in.Files, Notes: in.Notes, Charts: len(in.Job.Charts),
		Tanks: make([]Tank, len(in.Results)), Findings: make([]Note, 0, len(in.Findings)),
		Across: portfolio.BookOf(in.Path, in.Job.Charts, len(in.Results), func(i int) (*plan.Tank, *plan.Cut, *chart.Chart) {
			r := &in.Results[i]
			return r.Tank, &r.Cut, r.Chart
		}),
	}}
	b := &rec.Book
	sorted := slices.Clone(in.Findings)
	finding.Sort(sorted)
	for _, f := range sorted {
		b.Findings = append(b.Findings, noteOf(f))
	}
	for _, c := range in.Job.Charts {
		b.Rows += len(c.Rows)
	}
	sources := newSources(in.Sources)
	var details []detail
	pack := &packer{}
	for i := range in.Results {
		r := &in.Results[i]
		b.Tanks[i] = tankOf(r, in.Units)
		d, err := detailOf(r, in.Units, sources)
		if err != nil {
			return nil, err
		}
		details = append(details, d)
		if len(details) == bundleSize || i == len(in.Results)-1 {
			packed, err := pack.bundle(details)
			if err != nil {
				return nil, err
			}
			rec.bundles = append(rec.bundles, packed)
			details = details[:0]
		}
	}
	b.Orders = ordersOf(in.Results)
	return rec, nil
}

func tankOf(r *validate.Result, u Units) Tank {
	c, t := &r.Cut, r.Tank
	out := Tank{
		Site: t.Site.Raw, ID: t.ID.Raw, Job: t.Job.Raw, Product: t.Product.Raw, Place: t.Place.Raw, Device: t.Device.Raw, Status: r.Status,
		Nominal: Num{float64(t.Nominal.V), t.Nominal.Given()},
		Figures: [figureCount]Num{
			FullVolume: num(c.FullVolume), LimitPercent: num(c.LimitPercent), LimitVolume: num(c.LimitVolume),
			ShutoffDepth: num(c.ShutoffDepth), ShutoffVolume: num(c.ShutoffVolume), ShutoffPercent: num(c.ShutoffPercent),
			WorstPercent: num(c.WorstPercent), ChanceOverLimit: num(c.ChanceOver),
			Headspace: num(c.Headspace), TubeBelowTop: num(c.TubeBelowTop), UpperTube: num(c.UpperTube),
			DropLength: num(c.DropLength), LowerTube: num(c.LowerTube), AlarmDepth: num(c.AlarmDepth),
		},
		AsFound: writeback.Advice(r, writeback.Units{Length: u.Length, Volume: u.Volume}),
	}
	if r.Device != nil {
		out.Device = r.Device.Name.Raw
	}
	for _, f := range r.All() {
		if flag := (Flag{f.Severity, f.Slug}); !slices.Contains(out.Flags, flag) {
			out.Flags = append(out.Flags, flag)
		}
	}
	if last := t.LastInspection; last.Given() && !last.V.IsZero() {
		out.LastInspection = last.V.Format(time.DateOnly)
		if rule := r.Limits.Inspection; rule != nil {
			if due, ok := rule.Due(last.V); ok {
				out.NextInspection, out.InspectionRule = due.Format(time.DateOnly), rule.Citation()
			}
		}
	}
	return out
}

// detail is what a page shows of one tank when it is opened: pictures as SVG,
// and tables as rows of texts.
type detail struct {
	Tank    string     // picture
	Plot    string     // picture, "" for none
	Fit     string     // what the fitted curve is
	Given   [][]string // name, as the book writes it, cell
	Trail   [][]string // name, value, formula, cells, source
	AsFound [][]string // the same
	Found   [][]string // severity, kind, where, depth, found, expected, why, what to do
	Sources [][]string // kind, name, text, detail
}

// bundle is the details of several tanks, one list for each kind of them.
type bundle struct {
	Tank    []string     `json:"tank"`
	Plot    []string     `json:"plot"`
	Fit     []string     `json:"fit"`
	Given   [][][]string `json:"given"`
	Trail   [][][]string `json:"trail"`
	AsFound [][][]string `json:"asfound"`
	Found   [][][]string `json:"found"`
	Sources [][][]string `json:"sources"`
}

func detailOf(r *validate.Result, u Units, sources *sources) (detail, error) {
	du := drawing.Units{Length: u.Length, Volume: u.Volume}
	d := detail{Given: given(r.Tank), Trail: figures(r.Cut.Trail), AsFound: figures(r.AsFound.Trail), Sources: sources.of(r)}
	picture := drawing.Tank(r.Tank, &r.Cut, r.Device, du)
	var err error
	if d.Tank, err = svg(picture, "picture"); err != nil {
		return d, err
	}
	if plot, ok := drawing.PlotOf(r.Chart, &r.Cut, du); ok {
		if r.Fit != nil && r.Fit.Recognised {
			plot.Fit(r.Chart, r.Fit.Volume)
		}
		plot.Flag(r.Chart, r.All())
		if d.Plot, err = svg(plot.Picture(), "plot"); err != nil {
			return d, err
		}
		d.Fit = fitWords(r)
	}
	for _, f := range r.All() {
		n := noteOf(f)
		d.Found = append(d.Found, []string{n.Severity.String(), string(n.Slug), n.Where, n.Depth, n.Found, n.Expected, n.Why, n.Suggestion})
	}
	return d, nil
}

func fitWords(r *validate.Result) string {
	if r.Fit == nil || r.Chart == nil {
		return ""
	}
	if !r.Fit.Recognised {
		return "No simple shape follows this chart closely enough, so that no curve is drawn beside it."
	}
	du, vu := r.Chart.DepthUnit, r.Chart.VolumeUnit
	s := "The curve beside the chart is that of a " + r.Fit.Family.String() + ": "
	if r.Fit.HeightSeen {
		s += "inside height " + unit.DecimalText(r.Fit.Height, 2, unit.Nearest) + " " + du.String() + ", "
	}
	return s + "capacity " + unit.GroupedText(unit.DecimalText(r.Fit.Capacity, 0, unit.Nearest)) + " " + vu.String() +
		". Half of the rows lie within " + unit.DecimalText(r.Fit.Scale/1.4826, 2, unit.Up) + " " + vu.String() + " of it."
}

func figures(trail []plan.Figure) [][]string {
	list := make([][]string, 0, len(trail))
	for _, f := range trail {
		var cells []string
		for _, at := range f.From {
			if s := at.Cell(); s != "" {
				cells = append(cells, s)
			} else {
				cells = append(cells, at.String())
			}
		}
		list = append(list, []string{f.Name, f.Value, f.Formula, strings.Join(cells, ", "), f.Source})
	}
	return list
}

// given lists what the book says of a tank, as it writes it.
func given(t *plan.Tank) [][]string {
	list := [][]string{}
	add := func(name, raw string, at cell.Ref) {
		if raw != "" {
			list = append(list, []string{name, raw, at.Cell()})
		}
	}
	add("product", t.Product.Raw, t.Product.At)
	add("nominal capacity", t.Nominal.Raw, t.Nominal.At)
	add("certified capacity", t.Certified.Raw, t.Certified.At)
	add("inside diameter", t.Diameter.Raw, t.Diameter.At)
	add("length", t.Length.Raw, t.Length.At)
	add("ends", t.EndShape.Raw, t.EndShape.At)
	add("chart", t.ChartName.Raw, t.ChartName.At)
	add("place", t.Place.Raw, t.Place.At)
	add("limit", t.Limit.Raw, t.Limit.At)
	add("device", t.Device.Raw, t.Device.At)
	add("fill pipe installed", t.FillPipeInstalled.Raw, t.FillPipeInstalled.At)
	add("riser height", t.RiserHeight.Raw, t.RiserHeight.At)
	add("face to bottom", t.FaceToBottom.Raw, t.FaceToBottom.At)
	add("seal", t.Seal.Raw, t.Seal.At)
	add("rise end to end", t.Rise.Raw, t.Rise.At)
	add("low end", t.LowEnd.Raw, t.LowEnd.At)
	add("fill station", t.FillStation.Raw, t.FillStation.At)
	add("dip station", t.DipStation.Raw, t.DipStation.At)
	add("as-found upper tube", t.AsFoundUpper.Raw, t.AsFoundUpper.At)
	add("alarm set at", t.AlarmDepth.Raw, t.AlarmDepth.At)
	add("last inspection", t.LastInspection.Raw, t.LastInspection.At)
	return list
}

// sources gives each tank those of its book that it rests on.
type sources struct {
	always []writeback.Source
	rules  map[string]writeback.Source
	device map[string]writeback.Source
}

func newSources(list []writeback.Source) *sources {
	s := &sources{rules: map[string]writeback.Source{}, device: map[string]writeback.Source{}}
	for _, x := range list {
		switch x.Kind {
		case "rule":
			s.rules[x.Name] = x
		case "device":
			s.device[x.Name] = x
		case "file", "program":
			s.always = append(s.always, x)
		}
	}
	return s
}

func (s *sources) of(r *validate.Result) [][]string {
	var list [][]string
	add := func(x writeback.Source) { list = append(list, []string{x.Kind, x.Name, x.Text, x.Detail}) }
	if c := r.Chart; c != nil {
		text := cell.Range(c.At, c.To)
		if c.At.Sheet != "" {
			text = c.At.Sheet + "!" + text
		}
		add(writeback.Source{Kind: "chart", Name: c.Name, Text: c.At.File + ", " + text, Detail: "check word " + c.CheckWord()})
	}
	if rule := r.Cut.LimitRule; rule != nil {
		if x, ok := s.rules[rule.ID]; ok {
			add(x)
		}
	}
	if r.Device != nil {
		if x, ok := s.device[r.Device.Name.V]; ok {
			add(x)
		}
	}
	for _, x := range s.always {
		add(x)
	}
	return list
}

// packer packs bundles one after the other; its compressor serves all of a book,
// since a new one for each would be a megabyte each.
type packer struct {
	buf bytes.Buffer
	z   *gzip.Writer
}

// packLevel is a middle one: a twentieth more bytes than the best, which takes
// six times as long.
const packLevel = 6

// bundle compresses details and writes them in letters that can stand in a page.
// What is of one kind stands together, since it is alike from tank to tank: a
// seventh less than tank by tank.
func (p *packer) bundle(list []detail) ([]byte, error) {
	p.buf.Reset()
	if p.z == nil {
		var err error
		if p.z, err = gzip.NewWriterLevel(&p.buf, packLevel); err != nil {
			return nil, err
		}
	} else {
		p.z.Reset(&p.buf)
	}
	enc := json.NewEncoder(p.z)
	enc.SetEscapeHTML(false)
	var b bundle
	for _, d := range list {
		b.Tank, b.Plot, b.Fit = append(b.Tank, d.Tank), append(b.Plot, d.Plot), append(b.Fit, d.Fit)
		b.Given, b.Trail, b.AsFound = append(b.Given, d.Given), append(b.Trail, d.Trail), append(b.AsFound, d.AsFound)
		b.Found, b.Sources = append(b.Found, d.Found), append(b.Sources, d.Sources)
	}
	if err := enc.Encode(b); err != nil {
		return nil, err
	}
	if err := p.z.Close(); err != nil {
		return nil, err
	}
	return base64.StdEncoding.AppendEncode(nil, p.buf.Bytes()), nil
}
