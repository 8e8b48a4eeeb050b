package rule

import (
	"strings"

	"dropcut/plan/unit"
)

// kind is what the value of a quantity is.
type kind uint8

const (
	record kind = iota // printed, and not computed with
	level              // a share of the tank, in percent
	alarm              // the same, for an alarm; several parted by ";" may stand there
	height             // a length
	period             // a number of years, months or days
)

// quantities are those of the rules table. Of a quantity that stands nowhere here
// nobody knows what to do with it.
var quantities = map[string]kind{
	"shutoff_level": level, "fill_limit": level, "limit_sensor_fill_level": level,
	"alarm_or_restrict_level": alarm, "alarm_level": alarm, "alarm_level_and_shutoff_level": alarm,
	"submerged_fill_pipe_end_above_bottom": height, "fill_pipe_end_above_bottom": height, "drop_tube_end_above_bottom": height, "opening_entirely_submerged_at_liquid_level": height,
	"overfill_inspection_interval": period,

	"vent_line_flow_restrictor": record, "only_automatic_shutoff_allowed": record,
	"restriction_start_before_overfill": record, "alarm_before_overfill": record, "top_fittings_exposed_to_product": record, "transfer_size": record, "inspection_after_repair": record,
	"record_retention": record, "available_volume_minus_delivery": record, "level_resolution": record, "liquid_level_minus_top_of_opening": record, "capacity_exempt": record,
	"gauge_well_drop_tube_end_above_bottom": record, "visual_verification_possible": record, "min_capacity_for_30min_or_fittings_option": record, "test_before_service": record,
	"alarm_ullage": record, "safe_fill_volume": record, "alarm;stop;restrict": record, "alarm;stop": record, "overfill_protection": record,
}

// LimitsShutoff reports whether the rule says how full a tank may be when the
// flow has stopped.
func (r *Rule) LimitsShutoff() bool { return quantities[r.Quantity] == level }

// Percent gives the value of a rule about a share of the tank, in percent. ok is
// false where its unit is another, and where it is no share of a tank.
func (r *Rule) Percent() (p unit.Percent, ok bool) {
	if r.read.done {
		return r.read.percent, r.read.isPercent
	}
	u := unit.Fold(r.Unit)
	switch {
	case strings.HasPrefix(u, "percent"), strings.HasPrefix(u, "%"), strings.HasPrefix(u, "pct"), u == "":
		// A share below one percent is a fraction whose unit somebody forgot.
		return unit.Percent(r.Value), r.Value > 1 && r.Value <= 100
	case u == "fraction", u == "share", u == "ratio":
		return unit.Percent(r.Value * 100), r.Value > 0.01 && r.Value <= 1
	}
	return 0, false
}

// Height gives the value of a rule about a length. ok is false where its unit is
// none of length.
func (r *Rule) Height() (l unit.Length, ok bool) {
	if r.read.done {
		return r.read.height, r.read.isHeight
	}
	u, err := unit.ParseLengthUnit(strings.TrimSpace(r.Unit))
	if err != nil {
		first, _, _ := strings.Cut(strings.TrimSpace(r.Unit), " ")
		if u, err = unit.ParseLengthUnit(first); err != nil {
			return 0, false
		}
	}
	return u.Length(r.Value), r.Value > 0
}

// Doubt says which column of a row cannot be used as it stands, what was found in
// it and what is expected; field is "" for a row that can be used. Fields are
// named as the rules table names them.
func (r *Rule) Doubt() (field, found, expected string) {
	k, known := quantities[r.Quantity]
	upper := r.Comparator == AtMost || r.Comparator == Below || r.Comparator == Equal
	value := r.ValueText
	if value == "" {
		value = unit.DecimalText(r.Value, 6, unit.Nearest)
	}
	switch {
	case !known:
		return "quantity", r.Quantity, "a quantity of the built-in table, such as shutoff_level, alarm_level or fill_pipe_end_above_bottom"
	case (k == level || k == height) && !upper:
		return "comparator", string(r.Comparator), "<= for what must not be above the value"
	case k == level:
		if _, ok := r.Percent(); !ok {
			return "value", strings.TrimSpace(value + " " + r.Unit), "a number above 1 and up to 100, such as 95, with the unit percent"
		}
	case k == alarm:
		if _, ok := r.Percent(); !ok && !(r.First() > 1 && r.First() <= 100) {
			return "value", strings.TrimSpace(value + " " + r.Unit), "a number above 1 and up to 100, such as 90, with the unit percent"
		}
	case k == height:
		if _, ok := r.Height(); !ok {
			return "unit", strings.TrimSpace(value + " " + r.Unit), "a number above 0, such as 6, with a unit of length"
		}
	case k == period:
		if r.period() == 0 || r.Value < 1 || r.Value != float64(int(r.Value)) {
			return "unit", strings.TrimSpace(value + " " + r.Unit), "a whole number of years, months or days"
		}
	}
	return "", "", ""
}
