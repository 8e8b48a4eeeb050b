// Package look holds the dresses of the cells of the job books. It is small, and a
// package because the pages and the calculation under them share it.
package look

import "dropcut/convert/jobbook/sheet"

// The dresses of the cells. What is to be filled in has a thick border and a tint
// that a black-and-white printer shows as a light grey.
const (
	Plain sheet.Style = iota
	Title
	Subtitle
	Right
	Small
	Section
	Label
	Text
	Caption
	Mark
	MarkNote
	ValueBig
	WarnBox
	Caution
	Input
	InputText
	InputDate
	InputLong
	Planned
	PlannedPct
	Line
	LineValue
	LineText
	TableHead
	StopBig
	StopText
	Key
	CoverText
	CoverCell
	CoverStatus
	ChartDepth
	ChartVolume
	ChartSmallDepth
	ChartSmallVolume
	CardHead
	CardTitle
	CardProduct
	CardValue
	CardWords
	Stick
	Most
	StickSmall
	MostSmall
	Tick
	SignLine
)

// All gives the look of each dress, in their order.
func All() []sheet.Look {
	const field, paper, sand = "FFF6DC", "E7ECE4", "F3E7CF"
	return []sheet.Look{
		Plain:            {},
		Title:            {Size: 20, Bold: true, Down: "center", Shrink: true},
		Subtitle:         {Size: 11, Bold: true, Down: "center", Shrink: true},
		Right:            {Size: 11, Bold: true, Across: "right", Down: "center", Shrink: true},
		Small:            {Size: 8.5, Pale: true, Wrap: true, Down: "top"},
		Section:          {Size: 10, Bold: true, Border: sheet.Heavy, Down: "center"},
		Label:            {Indent: 1, Size: 9.5, Down: "center", Wrap: true, Border: sheet.Under},
		Text:             {Indent: 1, Size: 9.5, Down: "center", Wrap: true},
		Caption:          {Size: 10, Bold: true, Fill: paper, Border: sheet.Box, Across: "center", Down: "center", Shrink: true},
		Mark:             {Size: 30, Bold: true, Border: sheet.Thick, Across: "center", Down: "center", Shrink: true},
		MarkNote:         {Size: 9, Border: sheet.Box, Across: "center", Down: "center", Wrap: true},
		ValueBig:         {Size: 13, Bold: true, Border: sheet.Box, Across: "center", Down: "center", Shrink: true},
		WarnBox:          {Indent: 1, Size: 9.5, Bold: true, Border: sheet.Box, Wrap: true, Down: "center"},
		Caution:          {Indent: 1, Size: 8.5, Italic: true, Wrap: true, Down: "center", Fill: sand, Border: sheet.Box},
		Input:            {Size: 12, Bold: true, Fill: field, Border: sheet.Thick, Across: "center", Down: "center", Format: "0.####", Shrink: true},
		InputText:        {Indent: 1, Size: 10, Fill: field, Border: sheet.Thick, Down: "center", Wrap: true},
		InputDate:        {Size: 10, Fill: field, Border: sheet.Thick, Across: "center", Down: "center", Format: `yyyy\-mm\-dd`},
		InputLong:        {Size: 10, Fill: field, Border: sheet.Thick, Down: "top", Wrap: true},
		Planned:          {Size: 9.5, Across: "center", Down: "center", Border: sheet.Under, Format: "0.####"},
		PlannedPct:       {Size: 13, Bold: true, Border: sheet.Box, Across: "center", Down: "center", Format: `0.00" %"`, Shrink: true},
		Line:             {Indent: 1, Size: 9, Border: sheet.Under, Wrap: true, Down: "center"},
		LineValue:        {Size: 9, Bold: true, Border: sheet.Under, Across: "right", Down: "center", Format: "0.0000"},
		LineText:         {Indent: 1, Size: 8.5, Pale: true, Border: sheet.Under, Wrap: true, Down: "center"},
		TableHead:        {Size: 8.5, Bold: true, Fill: paper, Border: sheet.Box, Across: "center", Wrap: true, Down: "center"},
		StopBig:          {Size: 34, Bold: true, Border: sheet.Thick, Across: "center", Down: "center"},
		StopText:         {Size: 12, Wrap: true, Down: "top"},
		Key:              {Size: 7, Pale: true, Down: "center"},
		CoverText:        {Indent: 1, Size: 12, Down: "center", Wrap: true},
		CoverCell:        {Indent: 1, Size: 12, Border: sheet.Box, Down: "center", Wrap: true},
		CoverStatus:      {Indent: 1, Size: 12, Bold: true, Border: sheet.Box, Down: "center", Wrap: true},
		ChartDepth:       {Size: 12, Fill: paper, Border: sheet.Box, Across: "right", Format: "0.####", Down: "center"},
		ChartVolume:      {Size: 12, Border: sheet.Box, Across: "right", Format: "#,##0.##", Down: "center"},
		ChartSmallDepth:  {Size: 8.5, Fill: paper, Border: sheet.Box, Across: "right", Format: "0.####", Down: "center"},
		ChartSmallVolume: {Size: 8.5, Border: sheet.Box, Across: "right", Format: "#,##0.##", Down: "center"},
		CardHead:         {Size: 10.5, Bold: true, Fill: paper, Border: sheet.Box, Across: "center", Down: "center", Wrap: true},
		CardTitle:        {Size: 22, Bold: true, Down: "center", Shrink: true},
		CardProduct:      {Size: 22, Bold: true, Across: "right", Down: "center", Shrink: true},
		CardValue:        {Size: 18, Bold: true, Border: sheet.Thick, Across: "center", Down: "center", Wrap: true},
		CardWords:        {Size: 10.5, Wrap: true, Down: "center"},
		Stick:            {Size: 14, Fill: paper, Border: sheet.Box, Across: "center", Down: "center"},
		Most:             {Size: 15, Bold: true, Border: sheet.Box, Across: "center", Down: "center"},
		StickSmall:       {Size: 11, Fill: paper, Border: sheet.Box, Across: "center", Down: "center"},
		MostSmall:        {Size: 12, Bold: true, Border: sheet.Box, Across: "center", Down: "center"},
		SignLine:         {Size: 10, Border: sheet.Heavy},
		Tick:             {Size: 12, Border: sheet.Thick, Fill: field, Across: "center", Down: "center"},
	}
}
