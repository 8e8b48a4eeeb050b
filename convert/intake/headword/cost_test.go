package headword

import "testing"

// BenchmarkField compares headings as they stand in front of lists of tanks, and
// the lines of text that stand above them.
func BenchmarkField(b *testing.B) {
	m := NewMatcher(TankFields)
	headings := []string{"Tank", "Site", "Riser height (in)", "Inside diameter (in)", "Product", "Face to bottom (in)", "These tanks were measured in spring by two people with a stick", "Remarks"}
	b.ReportAllocs()
	for b.Loop() {
		for _, h := range headings {
			m.Field(h, false)
		}
	}
}
