package field

import "strings"

// SiteFields are the fields of an inspection about site and people, in the order
// of its page.
func SiteFields(t Texts) []Field {
	return []Field{
		{Key: DoneOn, Label: "Date", Kind: OfDate, Must: true},
		{Key: "next_due", Label: "Next due", Kind: OfDate},
		{Key: "reason", Label: "Reason", Kind: OfWord, Words: t["reasons"], Must: true},
		{Key: "facility", Label: "Facility number", Kind: OfText},
		{Key: "owner", Label: "Owner, phone", Kind: OfText},
		{Key: "address", Label: "Address", Kind: OfText},
		{Key: Company, Label: "Company", Kind: OfText, Must: true},
		{Key: Who, Label: "Technician", Kind: OfText, Must: true},
		{Key: Licence, Label: "License number", Kind: OfText, Must: true},
		{Key: "license_ends", Label: "License ends", Kind: OfDate},
		{Key: "training", Label: "Training certificates", Kind: OfText},
		{Key: "method", Label: "Method", Kind: OfWord, Words: t["methods"], Must: true},
	}
}

// TankFields are those about tank and device.
func TankFields(t Texts) []Field {
	yes := []string{"yes", "no"}
	return []Field{
		{Key: "fill_contained", Label: "Fill riser contained", Kind: OfYesNo, Words: yes},
		{Key: "vent_contained", Label: "Vent riser contained", Kind: OfYesNo, Words: yes},
		{Key: "vent_restrictor", Label: "Vent restrictor present", Kind: OfYesNo, Words: yes, Must: true},
		{Key: "device_found", Label: "Device found: kind, model", Kind: OfText},
		{Key: "response", Label: "When activated it", Kind: OfWord, Words: t["responses"], Must: true},
		// A chart is only as good as the point that its depths are measured from.
		{Key: "chart_date", Label: "Date of the chart", Kind: OfDate},
		{Key: "chart_zero", Label: "Where the chart's 0 lies", Kind: OfText},
	}
}

// FoundFields are the measures of an inspection.
func FoundFields() []Field {
	return []Field{
		{Key: FoundUpper, Label: "Upper tube, as found", Kind: OfLength, Least: 1, Most: 480, Must: true},
		{Key: FoundRiser, Label: "Riser height", Kind: OfLength, Least: 2, Most: 240, Must: true},
		{Key: FoundFace, Label: "Face to bottom", Kind: OfLength, Least: 12, Most: 480, Must: true},
		{Key: LeftUpper, Label: "Upper tube, as left", Kind: OfLength, Least: 1, Most: 480, Must: true},
	}
}

// AnswerFields are the questions of which one no is a fail.
func AnswerFields(t Texts) []Field {
	var list []Field
	for _, line := range t["inspection answers"] {
		key, words, _ := strings.Cut(line, "|")
		list = append(list, Field{Key: key, Label: words, Kind: OfYesNo, Words: []string{"yes", "no"}, Must: true})
	}
	return list
}
