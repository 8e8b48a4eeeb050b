package unit

import (
	"errors"
	"math"
	"testing"
	"time"
)

func TestParseVolume(t *testing.T) {
	for _, c := range []struct {
		text string
		in   VolumeUnit
		dec  Decimal
		want float64
		unit VolumeUnit
	}{
		{"10027", USGallons, DecimalPoint, 10027, USGallons},
		{"10,027 gal", VolumeUnknown, DecimalPoint, 10027, USGallons},
		{"10027 US gallons", Litres, DecimalPoint, 10027, USGallons},
		{"10 027 gal US", VolumeUnknown, DecimalPoint, 10027, USGallons},
		{"10027 gal. (US)", VolumeUnknown, DecimalPoint, 10027, USGallons},
		{"8000 imp gal", USGallons, DecimalPoint, 8000, ImperialGallons},
		{"8000 UK gal", USGallons, DecimalPoint, 8000, ImperialGallons},
		{"8000 galones", VolumeUnknown, DecimalPoint, 8000, USGallons},
		{"4.149,6 L", USGallons, DecimalComma, 4149.6, Litres},
		{"4149.6 litres", USGallons, DecimalPoint, 4149.6, Litres},
		{"4149,6 Liter", USGallons, DecimalComma, 4149.6, Litres},
		{"4149.6l", USGallons, DecimalPoint, 4149.6, Litres},
		{"40 m³", VolumeUnknown, DecimalPoint, 40, CubicMetres},
		{"40m3", VolumeUnknown, DecimalPoint, 40, CubicMetres},
		{"40 kL", VolumeUnknown, DecimalPoint, 40, CubicMetres},
		{"1340 cu ft", VolumeUnknown, DecimalPoint, 1340, CubicFeet},
		{"1340 ft³", VolumeUnknown, DecimalPoint, 1340, CubicFeet},
		{"250 bbl", VolumeUnknown, DecimalPoint, 250, Barrels},
		{"250 barrels", VolumeUnknown, DecimalPoint, 250, Barrels},
		{"1.29 acre-ft", VolumeUnknown, DecimalPoint, 1.29, AcreFeet},
		{"1.29 acre-feet", VolumeUnknown, DecimalPoint, 1.29, AcreFeet},
		{"12 taf", VolumeUnknown, DecimalPoint, 12, ThousandAcreFeet},
		{"1.29 million gal", VolumeUnknown, DecimalPoint, 1.29, MillionGallons},
		{"1.29 million gallons", VolumeUnknown, DecimalPoint, 1.29, MillionGallons},
		{"-5 gal", VolumeUnknown, DecimalPoint, -5, USGallons},
	} {
		got, named, err := ScanVolume(c.text, c.in, c.dec)
		want := c.unit.Volume(c.want)
		if err != nil || got != want {
			t.Errorf("%q: got %v gal, %v; want %v", c.text, float64(got), err, float64(want))
		}
		if named != 0 && named != c.unit {
			t.Errorf("%q names %v", c.text, named)
		}
	}
	for _, s := range []string{"", "gal", "10,02 gal", "12 MG", "12 ml", "12 in", "12 gal/in", "12 acres", "12 or 13 gal", "12 gal 3 qt", "7.9e400 L", "12 furlongs", "1/2 gal", "5 thousand barrels", "1,492 acres", "1.29 sq. miles"} {
		if got, err := ParseVolume(s, USGallons, DecimalPoint); err == nil {
			t.Errorf("%q read as %v gal", s, float64(got))
		}
	}
	if _, err := ParseVolume("10027", VolumeUnknown, DecimalPoint); !errors.Is(err, ErrNoUnit) {
		t.Errorf("a bare number: %v", err)
	}
}

func TestParsePercent(t *testing.T) {
	for _, c := range []struct {
		text  string
		share bool
		dec   Decimal
		want  Percent
	}{
		{"95", false, DecimalPoint, 95},
		{"95%", false, DecimalPoint, 95},
		{"95 %", false, DecimalPoint, 95},
		{"95\u00a0%", false, DecimalPoint, 95},
		{"95 percent", false, DecimalPoint, 95},
		{"95 Prozent", false, DecimalPoint, 95},
		{"97,5 %", false, DecimalComma, 97.5},
		{"0.95", true, DecimalPoint, 95},
		{"0.57", true, DecimalPoint, 57}, // times 100 in binary: 56.99999999999999
		{"0.29", true, DecimalPoint, 29},
		{"9.5E-1", true, DecimalPoint, 95},
		{"0,95", true, DecimalComma, 95},
		{"1", true, DecimalPoint, 100},
		{"95%", true, DecimalPoint, 95},
		{"0.95", false, DecimalPoint, 0.95},
		{"195", false, DecimalPoint, 195},
	} {
		if got, err := ParsePercent(c.text, c.share, c.dec); err != nil || got != c.want {
			t.Errorf("%q: got %v, %v; want %v", c.text, got, err, c.want)
		}
	}
	for _, s := range []string{"", "%", "95 in", "95%%", "95,5", "NaN", "ninety"} {
		if got, err := ParsePercent(s, false, DecimalPoint); err == nil {
			t.Errorf("%q read as %v", s, got)
		}
	}
}

func TestParseOtherQuantities(t *testing.T) {
	near := func(a, b float64) bool { return math.Abs(a-b) <= 4e-16*math.Abs(b) }
	for s, want := range map[string]Torque{
		"30 ft-lb": 30, "30 ft lbs": 30, "30 lbf·ft": 30, "30 lb-ft": 30, "30 ft.lbf": 30, "30": 30, "360 in-lb": 30, "360 in. lbs.": 30,
		"40 N·m": 40 * NewtonMetre, "40 Nm": 40 * NewtonMetre, "4 kgf·m": 4 * KilogramMetre, "30 foot-pounds": 30,
	} {
		if got, err := ParseTorque(s, PoundForceFoot, DecimalPoint); err != nil || !near(float64(got), float64(want)) {
			t.Errorf("%q: got %v, %v", s, float64(got), err)
		}
	}
	for s, want := range map[string]Pressure{
		"50 psi": 50, "50": 50, "50 PSIG": 50, "100 kPa": 100 * Kilopascal, "1 bar": 100 * Kilopascal, "6 in w.c.": 6 * InchOfWater, "6\" WC": 6 * InchOfWater,
		"6 in. H2O": 6 * InchOfWater, "6 inches of water column": 6 * InchOfWater, "6 inH₂O": 6 * InchOfWater, "152.4 mm H2O": 6 * InchOfWater,
	} {
		if got, err := ParsePressure(s, PSI, DecimalPoint); err != nil || !near(float64(got), float64(want)) {
			t.Errorf("%q: got %v, %v; want %v", s, float64(got), err, float64(want))
		}
	}
	for s, want := range map[string]Angle{"45": 45, "45°": 45, "45 deg": 45, "22,5 °": 22.5, "0 degrees": 0} {
		if got, err := ParseAngle(s, DecimalComma); err != nil || got != want {
			t.Errorf("%q: got %v, %v", s, got, err)
		}
	}
	if got, err := ParseAngle("0.7853981633974483 rad", DecimalPoint); err != nil || !near(float64(got), 45) {
		t.Errorf("a quarter of pi: got %v, %v", got, err)
	}
	for _, s := range []string{"", "30 gal", "30 xyz", "abc"} {
		if _, err := ParseTorque(s, PoundForceFoot, DecimalPoint); err == nil {
			t.Errorf("%q read as a torque", s)
		}
		if _, err := ParsePressure(s, PSI, DecimalPoint); err == nil {
			t.Errorf("%q read as a pressure", s)
		}
		if _, err := ParseAngle(s, DecimalPoint); err == nil {
			t.Errorf("%q read as an angle", s)
		}
	}
	if _, err := ParseTorque("30", 0, DecimalPoint); !errors.Is(err, ErrNoUnit) {
		t.Errorf("a torque without unit: %v", err)
	}
	if _, err := ParsePressure("30", 0, DecimalPoint); !errors.Is(err, ErrNoUnit) {
		t.Errorf("a pressure without unit: %v", err)
	}
}

func TestParseDate(t *testing.T) {
	for _, c := range []struct {
		text  string
		order DateOrder
		want  string
	}{
		{"2026-04-03", DateOrderUnknown, "2026-04-03"},
		{"2026-4-3", DateOrderUnknown, "2026-04-03"},
		{"2026/04/03", DateOrderUnknown, "2026-04-03"},
		{"2026-04-03T00:00:00", DateOrderUnknown, "2026-04-03"},
		{"2026-04-03 14:05", DateOrderUnknown, "2026-04-03"},
		{"4/3/2026", MonthFirst, "2026-04-03"},
		{"4/3/2026 2:05 PM", MonthFirst, "2026-04-03"},
		{"4/3/2026", DayFirst, "2026-03-04"},
		{"4-3-26", MonthFirst, "2026-04-03"},
		{"13/3/2026", DateOrderUnknown, "2026-03-13"},
		{"3/13/2026", DateOrderUnknown, "2026-03-13"},
		{"3/3/2026", DateOrderUnknown, "2026-03-03"},
		{"3.4.2026", DateOrderUnknown, "2026-04-03"},
		{"03.04.26", DateOrderUnknown, "2026-04-03"},
		{"3 Apr 2026", DateOrderUnknown, "2026-04-03"},
		{"3-Apr-26", DateOrderUnknown, "2026-04-03"},
		{"April 3, 2026", DateOrderUnknown, "2026-04-03"},
		{"Apr. 3rd, 2026", DateOrderUnknown, "2026-04-03"},
		{"3. März 2026", DateOrderUnknown, "2026-03-03"},
		{"3 de abril de 2026", DateOrderUnknown, "2026-04-03"},
		{"3 août 2026", DateOrderUnknown, "2026-08-03"},
		{"2026 Apr 3", DateOrderUnknown, "2026-04-03"},
		{"11/9/06", MonthFirst, "2006-11-09"},
		{"11/9/85", MonthFirst, "1985-11-09"},
		{"2024-02-29", DateOrderUnknown, "2024-02-29"},
	} {
		got, err := ParseDate(c.text, c.order)
		if err != nil || got.Format(time.DateOnly) != c.want {
			t.Errorf("%q: got %v, %v; want %v", c.text, got.Format(time.DateOnly), err, c.want)
		}
	}
	for _, s := range []string{"", "2026", "4/2026", "2026-13-01", "2026-02-30", "2025-02-29", "13/13/2026", "4/3/026", "4/3/20266", "45000", "Aprilish 3 2026", "3 Apr", "1/8", "1.5", "4/3-2026", "2026-04-03-01", "0026-04-03", "9999-01-01", "Apr Apr 3 2026"} {
		if got, err := ParseDate(s, MonthFirst); err == nil {
			t.Errorf("%q read as %v", s, got)
		}
	}
	if _, err := ParseDate("4/3/2026", DateOrderUnknown); !errors.Is(err, ErrDayOrMonth) {
		t.Errorf("4/3/2026: %v", err)
	}
}

func TestSerialDate(t *testing.T) {
	// 46030 is how a spreadsheet of 2026 stores 1/8 (reference notes on charts
	// in the wild); 1900-03-01 is 61 and 1904-01-01 is 1462 by the format's
	// published rules (ECMA-376 Part 1, 18.17.4.1).
	for n, want := range map[float64]string{46030: "2026-01-08", 61: "1900-03-01", 59: "1900-02-28", 1: "1900-01-01", 1462: "1904-01-01", 46030.75: "2026-01-08"} {
		if got, ok := SerialDate(n, false); !ok || got.Format(time.DateOnly) != want {
			t.Errorf("%v: got %v, %v", n, got, ok)
		}
	}
	if got, ok := SerialDate(46030-1462, true); !ok || got.Format(time.DateOnly) != "2026-01-08" {
		t.Errorf("1904: got %v, %v", got, ok)
	}
	for _, n := range []float64{0, -1, 60, 1e6, math.NaN(), math.Inf(1)} {
		if got, ok := SerialDate(n, false); ok {
			t.Errorf("%v: got %v", n, got)
		}
	}
}
