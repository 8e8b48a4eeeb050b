package headword

import (
	"testing"

	"dropcut/plan/unit"
)

// Databases write the words of a heading without blanks.
func TestHeadingsInOneWord(t *testing.T) {
	for text, want := range map[string]Heading{
		"DepthIn":         {Role: RoleDepth, Length: unit.Inches},
		"dipInches":       {Role: RoleDepth, Length: unit.Inches},
		"DepthMM":         {Role: RoleDepth, Length: unit.Millimetres},
		"VolGal":          {Role: RoleVolume, Volume: unit.USGallons},
		"VolumeUSGallons": {Role: RoleVolume, Volume: unit.USGallons},
		"VolumeL":         {Role: RoleVolume, Volume: unit.Litres},
		"volumeLitres":    {Role: RoleVolume, Volume: unit.Litres},
		// No words in one: names, and units with a capital of their own.
		"MacArthur": {}, "LaPorte": {}, "McIntyre": {}, "mL": {Volume: Read("mL").Volume}, "Inhalt": {Role: RoleVolume},
	} {
		if got := Read(text); got.Role != want.Role || got.Length != want.Length || got.Volume != want.Volume || got.Text != text {
			t.Errorf("%s: role %v in %v, %v; want role %v in %v, %v", text, got.Role, got.Length, got.Volume, want.Role, want.Length, want.Volume)
		}
	}
}
