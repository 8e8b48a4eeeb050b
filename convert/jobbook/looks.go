package jobbook

import "dropcut/convert/jobbook/sheet"

// The dresses of the cells. What is to be filled in has a thick border and a tint
// that a black-and-white printer shows as a light grey.
const (
	plain sheet.Style = iota
	title
	subtitle
	right
	small
	section
	label
	text
	textBox
	caption
	mark
	markNote
	valueBig
	warnBox
	caution
	input
	inputText
	inputDate
	inputLong
	unitCell
	planned
	plannedPct
	line
	lineValue
	lineText
	tableHead
	tableCell
	tableDepth
	tableVolume
	stopBig
	stopText
	key
	cardHead
	cardCell
	cardNumber
	cardTitle
	tick
	signLine
)

func looks() []sheet.Look {
	const field, paper, sand = "FFF6DC", "E7ECE4", "F3E7CF"
	return []sheet.Look{
		plain:       {},
		title:       {Size: 20, Bold: true, Down: "center"},
		subtitle:    {Size: 11, Bold: true, Down: "center"},
		right:       {Size: 11, Bold: true, Across: "right", Down: "center"},
		small:       {Size: 8.5, Pale: true, Wrap: true, Down: "top"},
		section:     {Size: 10, Bold: true, Border: sheet.Heavy, Down: "center"},
		label:       {Size: 9.5, Down: "center", Wrap: true, Border: sheet.Under},
		text:        {Size: 9.5, Down: "center", Wrap: true},
		textBox:     {Size: 9, Down: "center", Wrap: true, Border: sheet.Box},
		caption:     {Size: 10, Bold: true, Fill: paper, Border: sheet.Box, Across: "center", Down: "center"},
		mark:        {Size: 26, Bold: true, Border: sheet.Thick, Across: "center", Down: "center"},
		markNote:    {Size: 9, Border: sheet.Box, Across: "center", Down: "center", Wrap: true},
		valueBig:    {Size: 13, Bold: true, Border: sheet.Box, Across: "center", Down: "center"},
		warnBox:     {Size: 9.5, Bold: true, Border: sheet.Box, Wrap: true, Down: "center"},
		caution:     {Size: 8.5, Italic: true, Wrap: true, Down: "center", Fill: sand, Border: sheet.Box},
		input:       {Size: 12, Bold: true, Fill: field, Border: sheet.Thick, Across: "center", Down: "center", Format: "0.####"},
		inputText:   {Size: 10, Fill: field, Border: sheet.Thick, Down: "center", Wrap: true},
		inputDate:   {Size: 10, Fill: field, Border: sheet.Thick, Across: "center", Down: "center", Format: `yyyy\-mm\-dd`},
		inputLong:   {Size: 10, Fill: field, Border: sheet.Thick, Down: "top", Wrap: true},
		unitCell:    {Size: 9.5, Down: "center"},
		planned:     {Size: 9.5, Across: "center", Down: "center", Border: sheet.Under, Format: "0.####"},
		plannedPct:  {Size: 13, Bold: true, Border: sheet.Box, Across: "center", Down: "center", Format: `0.00" %"`},
		line:        {Size: 9, Border: sheet.Under, Wrap: true, Down: "center"},
		lineValue:   {Size: 9, Bold: true, Border: sheet.Under, Across: "right", Down: "center", Format: "0.0000"},
		lineText:    {Size: 8.5, Pale: true, Border: sheet.Under, Wrap: true, Down: "center"},
		tableHead:   {Size: 8.5, Bold: true, Fill: paper, Border: sheet.Box, Across: "center", Wrap: true, Down: "center"},
		tableCell:   {Size: 9, Border: sheet.Box, Down: "center", Wrap: true},
		tableDepth:  {Size: 8.5, Border: sheet.Under, Across: "right", Format: "0.####"},
		tableVolume: {Size: 8.5, Border: sheet.Under, Across: "right", Format: "#,##0.##"},
		stopBig:     {Size: 34, Bold: true, Border: sheet.Thick, Across: "center", Down: "center"},
		stopText:    {Size: 12, Wrap: true, Down: "top"},
		key:         {Size: 7, Pale: true, Down: "center"},
		cardHead:    {Size: 12, Bold: true, Fill: paper, Border: sheet.Box, Across: "center", Down: "center", Wrap: true},
		cardCell:    {Size: 13, Border: sheet.Box, Across: "center", Down: "center", Wrap: true},
		cardNumber:  {Size: 13, Bold: true, Border: sheet.Box, Across: "center", Down: "center", Wrap: true},
		cardTitle:   {Size: 24, Bold: true, Down: "center"},
		signLine:    {Size: 10, Border: sheet.Heavy},
		tick:        {Size: 12, Border: sheet.Thick, Fill: field, Across: "center", Down: "center"},
	}
}
