package validate

import (
	"iter"
	"slices"
	"strings"

	"dropcut/plan"
	"dropcut/plan/chart"
	"dropcut/plan/device"
	"dropcut/plan/finding"
	"dropcut/plan/rule"
	"dropcut/plan/unit"
	"dropcut/validate/charts"
	"dropcut/validate/charts/fit"
	"dropcut/validate/limits"
)

// Run judges every tank of a job, in the order of the list: it audits the chart,
// makes the cut and holds it against limits and device. A tank with a stop gets
// no length. Findings of the reading that are about a tank or its chart go into
// its Result and count for its status.
func Run(job *plan.Job, o plan.Options) iter.Seq[Result] {
	return func(yield func(Result) bool) {
		j := newJudge(job, o)
		for i := range job.Tanks {
			if !yield(j.tank(i)) {
				return
			}
		}
	}
}

// judge holds what is the same for all tanks of a job.
type judge struct {
	job     *plan.Job
	o       plan.Options
	rules   *rule.Set
	devices map[string]*device.Device
	read    map[string][]finding.Finding // by tank
	ofChart map[string][]finding.Finding // by chart, where no tank is named
	odds    map[*device.Device][]finding.Finding
	audits  map[int][]finding.Finding // by chart
	fits    map[int]*fit.Result       // by chart
	work    charts.Workspace
}

func newJudge(job *plan.Job, o plan.Options) *judge {
	j := &judge{
		job: job, o: o, rules: rule.NewSet(job.Rules),
		devices: map[string]*device.Device{}, read: map[string][]finding.Finding{}, ofChart: map[string][]finding.Finding{}, odds: map[*device.Device][]finding.Finding{}, audits: map[int][]finding.Finding{}, fits: map[int]*fit.Result{},
	}
	for i := range job.Devices {
		d := &job.Devices[i]
		if name := unit.Fold(d.Name.V); name != "" && j.devices[name] == nil {
			j.devices[name] = d
		}
	}
	for _, f := range job.Findings {
		switch {
		case f.Tank != "":
			j.read[f.Tank] = append(j.read[f.Tank], f)
		case f.Chart != "":
			j.ofChart[f.Chart] = append(j.ofChart[f.Chart], f)
		}
	}
	return j
}

func (j *judge) tank(i int) Result {
	t := &j.job.Tanks[i]
	r := Result{Tank: t, Chart: j.chart(i), Device: j.device(t)}
	r.Elsewhere = slices.Clone(j.read[t.ID.V])
	if r.Chart != nil {
		r.Elsewhere = append(r.Elsewhere, j.ofChart[r.Chart.Name]...)
	}
	var found []finding.Finding
	r.Cut, found = plan.Make(t, r.Chart, r.Device, j.rules, j.o)
	r.Limits = plan.LimitsOf(t, &r.Cut, j.rules, j.o)
	j.unreadRules(&r)
	first := j.audit(&r, i)
	r.add(found)
	if !first {
		// What is wrong with a shared chart was said by its first tank.
		r.Findings = slices.DeleteFunc(r.Findings, func(f finding.Finding) bool {
			if f.Slug != finding.ChartNotUsable {
				return false
			}
			r.Elsewhere = append(r.Elsewhere, f)
			return true
		})
	}
	r.add(limits.Check(limits.Case{Tank: t, Chart: r.Chart, Device: r.Device, Cut: &r.Cut, Limits: &r.Limits, Options: &j.o}))
	j.odd(&r)
	r.AsFound, found = plan.Invert(t, r.Chart, r.Device, j.rules, j.o, &r.Cut)
	r.add(found)
	r.settle()
	return r
}

// unreadRules brings the rules of a tank's place that cannot be used as they
// stand to the tank: they were said at their rows. Where one of them says how full
// a tank may be, nobody can say which limit holds.
func (j *judge) unreadRules(r *Result) {
	for _, u := range r.Limits.Unread {
		for _, f := range j.job.Findings {
			if f.Slug != finding.RuleUnreadable || f.At.File != u.At.File || f.At.Sheet != u.At.Sheet || f.At.Row != u.At.Row {
				continue
			}
			if u.LimitsShutoff() && (!u.Aboveground() || plan.Aboveground(r.Tank)) {
				f.Severity = finding.Stop
				f.Why += "; nobody can say which limit holds in " + u.Place
			}
			r.Elsewhere = append(r.Elsewhere, f)
		}
	}
}

// audit looks at the chart of a tank. The findings are the first tank's own; to
// the others that share the chart they are said elsewhere. It reports whether
// this is the first.
func (j *judge) audit(r *Result, i int) (first bool) {
	if r.Chart == nil {
		return true
	}
	n := j.job.ChartOf[i]
	if list, seen := j.audits[n]; seen {
		r.Elsewhere = append(r.Elsewhere, list...) // a copy: what is graver for one tank need not be so for all
		return false
	}
	facts := charts.FactsOf(r.Tank, r.Chart, r.Limits.Percent)
	if tanks := 1 + strings.Count(r.Chart.Name, "+"); tanks > 1 {
		// The chart holds all tanks of a set, the list one.
		facts.Nominal *= float64(tanks)
		facts.Certified *= float64(tanks)
		facts.Length = 0
	}
	report := charts.Audit(&j.work, r.Chart, facts)
	list := r.unreadGaps(report.Findings)
	r.Fit = &report.Fit
	j.fits[n] = r.Fit
	for k := range list {
		f := &list[k]
		f.Site, f.Tank = r.Tank.Site.V, r.Tank.ID.V
	}
	j.audits[n] = slices.Clone(list)
	r.Findings = append(r.Findings, list...)
	return true
}

// unreadGaps takes back rows that are missing only because the row above could
// not be read, as a depth that became a date: the reading has named its cell.
func (r *Result) unreadGaps(list []finding.Finding) []finding.Finding {
	return slices.DeleteFunc(list, func(f finding.Finding) bool {
		if f.Slug != finding.RowMissing && f.Slug != finding.DepthStepWrong {
			return false
		}
		return slices.ContainsFunc(r.Elsewhere, func(o finding.Finding) bool {
			return o.Slug == finding.DepthTurnedIntoDate && o.At.File == f.At.File && o.At.Sheet == f.At.Sheet && o.At.Col == f.At.Col &&
				(o.At.Row == f.At.Row || o.At.Row == f.At.Row-1)
		})
	})
}

// Loose is a chart that belongs to no tank of the list, with what its audit says.
type Loose struct {
	Chart *chart.Chart
	charts.Report
}

// LooseCharts audits the charts that belong to no tank of the list, in the order
// of the job.
func LooseCharts(job *plan.Job, o plan.Options) iter.Seq[Loose] {
	return func(yield func(Loose) bool) {
		limit := o.Limit.V
		if !o.Limit.Given() {
			limit = 95 // the federal one; it only says what a fault would lead to
		}
		claimed := make([]bool, len(job.Charts))
		for _, n := range job.ChartOf {
			if n >= 0 && n < len(claimed) {
				claimed[n] = true
			}
		}
		var work charts.Workspace
		for n, c := range job.Charts {
			if claimed[n] {
				continue
			}
			if !yield(Loose{c, charts.Audit(&work, c, charts.FactsOf(nil, c, limit))}) {
				return
			}
		}
	}
}

// Unclaimed gives the findings of the charts that belong to no tank of the list.
func Unclaimed(job *plan.Job, o plan.Options) []finding.Finding {
	var list []finding.Finding
	for l := range LooseCharts(job, o) {
		list = append(list, l.Findings...)
	}
	return list
}

// saidBy lists, for a finding of the plan, those of the reading and the audit
// that name the same fault more closely. One fault is said once.
func saidBy(s finding.Slug) []finding.Slug {
	switch s {
	case finding.HeightsDiffer:
		return []finding.Slug{finding.ChartOfAnotherDiameter, finding.ChartStopsEarly, finding.RowsPastFull, finding.ScaledNominalChart}
	case finding.DiameterDoubtful:
		return []finding.Slug{finding.ChartOfAnotherDiameter, finding.ScaledNominalChart}
	case finding.CapacityDiffersNominal, finding.CapacityDiffersCertified:
		return []finding.Slug{finding.ChartOfAnotherDiameter, finding.ChartOfAnotherLength, finding.ImperialGallons, finding.ChartStopsEarly, finding.RowsPastFull, finding.UnitsDoubtful, finding.VolumeUnitChangesMidway, finding.ScaledNominalChart}
	case finding.ChartBelowLimit:
		return []finding.Slug{finding.ChartStopsEarly, finding.ChartOfAnotherDiameter, finding.ScaledNominalChart}
	case finding.ChartNotUsable:
		return []finding.Slug{
			finding.DecimalComma, finding.DepthUnitChangesMidway, finding.RowDoubled, finding.RowsExchanged, finding.DepthStepWrong, finding.DepthRunsBack,
			finding.SameDepthTwice, finding.ThousandsMarkLost, finding.VolumeUnitChangesMidway, finding.DigitsSwapped, finding.WrongDigit,
			finding.VolumeRepeated, finding.BlockShiftedOneRow, finding.VolumeFalls, finding.ChartNotSmooth,
		}
	}
	return nil
}

// add takes findings of the plan. What the reading or the audit has named is not
// said again in other words; where the plan takes it harder, what was said
// counts for as much.
func (r *Result) add(list []finding.Finding) {
	stopped := finding.Worst(r.All()) == finding.Stop
	for _, f := range list {
		if stopped && (f.Slug == finding.ChartMissing || f.Slug == finding.ChartNotUsable) {
			continue
		}
		if !r.said(f) {
			r.Findings = append(r.Findings, f)
		}
	}
}

// said reports whether a finding's fault is named already.
func (r *Result) said(f finding.Finding) bool {
	same := saidBy(f.Slug)
	for _, list := range [][]finding.Finding{r.Findings, r.Elsewhere} {
		for i := range list {
			if !slices.Contains(same, list[i].Slug) || f.Slug == finding.ChartNotUsable && list[i].Severity < finding.Check {
				continue
			}
			if f.Severity > list[i].Severity {
				list[i].Severity = f.Severity
				list[i].Why += "; " + consequence(f)
			}
			return true
		}
	}
	return false
}

// consequence says in the finding that names a fault what follows from it.
func consequence(f finding.Finding) string {
	switch f.Slug {
	case finding.ChartNotUsable:
		return "no level can be read from such a chart: " + f.Found
	case finding.ChartBelowLimit:
		return f.Found + " where " + f.Expected + " is needed"
	}
	return f.Why
}

// odd adds what is odd about the device: to the first tank that has it as its
// own, to the others as said elsewhere.
func (j *judge) odd(r *Result) {
	if r.Device == nil {
		return
	}
	// What could not be read of the device's row was said there.
	for _, f := range j.job.Findings {
		if d := r.Device.At; f.Tank == "" && f.Chart == "" && f.At.Row == d.Row && f.At.Sheet == d.Sheet && f.At.File == d.File && f.Severity > finding.Note && d.Row > 0 {
			r.Elsewhere = append(r.Elsewhere, f)
		}
	}
	list, seen := j.odds[r.Device]
	if seen {
		r.Elsewhere = append(r.Elsewhere, list...)
		return
	}
	list = r.Device.Check()
	j.odds[r.Device] = list
	r.Findings = append(r.Findings, list...)
}

func (j *judge) chart(i int) *chart.Chart {
	if i >= len(j.job.ChartOf) || j.job.ChartOf[i] < 0 {
		return nil
	}
	return j.job.Charts[j.job.ChartOf[i]]
}

func (j *judge) device(t *plan.Tank) *device.Device {
	name := t.Device
	if !name.Given() {
		name = j.o.Device
	}
	return j.devices[unit.Fold(name.V)]
}

// settle gives the status that follows from the findings, and takes the lengths
// out where there is a stop.
func (r *Result) settle() {
	switch finding.Worst(r.All()) {
	case finding.Stop:
		r.Status = Stop
		r.Cut.Withhold()
		r.AsFound.Withhold()
	case finding.Check:
		r.Status = Check
	default:
		r.Status = Ready
	}
	if r.Status != Stop && !r.Cut.UpperTube.Known && r.lacksMeasure() {
		r.Status = Measure
	}
}

func (r *Result) lacksMeasure() bool {
	return slices.ContainsFunc(r.Findings, func(f finding.Finding) bool { return f.Slug == finding.RiserNotMeasured })
}
