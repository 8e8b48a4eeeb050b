package main

import (
	"path/filepath"

	"dropcut/convert/writeback"
	"dropcut/plan/unit"
	"dropcut/validate"
)

// foundRow is what a tube does that was found in a tank, as CSV and JSON hold it.
type foundRow struct {
	File            string `csv:"file" json:"file"`
	Site            string `csv:"site" json:"site"`
	Tank            string `csv:"tank" json:"tank"`
	UpperTube       string `csv:"as_found_upper_tube" json:"as_found_upper_tube"`
	ShutoffDepth    string `csv:"shutoff_depth" json:"shutoff_depth"`
	ShutoffVolume   string `csv:"shutoff_volume" json:"shutoff_volume"`
	ShutoffPercent  string `csv:"shutoff_percent" json:"shutoff_percent"`
	WorstPercent    string `csv:"worst_percent" json:"worst_percent"`
	ChanceOverLimit string `csv:"chance_over_limit" json:"chance_over_limit"`
	LimitPercent    string `csv:"limit_percent" json:"limit_percent"`
	Within          string `csv:"within_limit" json:"within_limit"`
	Advice          string `csv:"advice" json:"advice"`
	CutBy           string `csv:"cut_by" json:"cut_by"`
	NewTube         string `csv:"new_tube" json:"new_tube"`
	Status          string `csv:"status" json:"status"`
	Flags           string `csv:"flags" json:"flags"`
}

func (p *planPrinter) foundRow(job *work, r *validate.Result) foundRow {
	l, g, s := figures(p.units())
	a := &r.AsFound
	within := ""
	if a.ShutoffPercent.Known {
		within = "no"
		if a.Within {
			within = "yes"
		}
	}
	return foundRow{
		File: filepath.Base(job.path), Site: r.Tank.Site.Raw, Tank: r.Tank.ID.V,
		UpperTube: l(a.UpperTube), ShutoffDepth: l(a.ShutoffDepth), ShutoffVolume: g(a.ShutoffVolume), ShutoffPercent: s(a.ShutoffPercent),
		WorstPercent: s(a.WorstPercent), ChanceOverLimit: s(a.ChanceOver), LimitPercent: s(r.Cut.LimitPercent),
		Within: within, Advice: string(a.Verdict), CutBy: l(a.CutBy), NewTube: l(a.NewTube),
		Status: string(r.Status), Flags: writeback.Flags(r.All()),
	}
}

// foundLine says of a tube that was found what an inspector would ask first.
func foundLine(r *validate.Result) []string {
	a := &r.AsFound
	line := []string{r.Tank.ID.V, r.Tank.Site.Raw, "found " + unit.FractionText(a.UpperTube.V, 64, unit.Nearest) + " in", "", "", "", ""}
	if a.ShutoffDepth.Known {
		line[3] = "shuts off at " + unit.FractionText(a.ShutoffDepth.V, 16, unit.Up) + " in"
	}
	if a.ShutoffPercent.Known {
		limit := r.Cut.LimitPercent.V
		line[4] = "= " + unit.PercentText(a.ShutoffPercent.V, limit) + " %, limit " + full(float64(limit), true) + " %"
	}
	line[5] = writeback.Advice(r, writeback.Units{Length: unit.Inches, Volume: unit.USGallons})
	line[6] = writeback.Flags(r.All())
	return line
}
