package headword

import (
	"testing"
)

// The headings are the project's own invention of how contractors write, with
// every heading of its own portfolio template among them.
func TestTankHeadings(t *testing.T) {
	m := NewMatcher(TankFields)
	for _, c := range []struct {
		text string
		want Field
	}{
		{"Tank", FieldTank},
		{"Tank ID", FieldTank},
		{"tank_id", FieldTank},
		{"Tank #", FieldTank},
		{"Tank No.", FieldTank},
		{"ID", FieldTank},
		{"Cuve n°", FieldTank},
		{"Behälter-Nr.", FieldTank},
		{"Tanque", FieldTank},
		{"ID (in)", FieldDiameter},
		{"I.D. (in)", FieldDiameter},
		{"Inside diameter (in)", FieldDiameter},
		{"Diameter", FieldDiameter},
		{"Tank diameter, mm", FieldDiameter},
		{"Innendurchmesser [mm]", FieldDiameter},
		{"Diámetro interior (cm)", FieldDiameter},
		{"Diamètre intérieur", FieldDiameter},
		{"Outside diameter (in)", ""},
		{"Site", FieldSite},
		{"Tank location", FieldSite},
		{"Standort", FieldSite},
		{"Job", FieldJob},
		{"Work order #", FieldJob},
		{"Product", FieldProduct},
		{"Cap. (gal)", FieldNominal},
		{"Capacity (gal)", FieldNominal},
		{"Nominal capacity (gal)", FieldNominal},
		{"Nennvolumen (L)", FieldNominal},
		{"Size (gal)", FieldNominal},
		{"Size", ""},
		{"Working capacity (gal)", ""},
		{"Safe fill volume", ""},
		{"Certified capacity (gal)", FieldCertified},
		{"Actual capacity", FieldCertified},
		{"Length (in)", FieldLength},
		{"Shape", FieldShape},
		{"Ends", FieldEndShape},
		{"Chart", FieldChart},
		{"Depth unit", FieldChartDepthUnit},
		{"depth_unit", FieldChartDepthUnit},
		{"volume_unit", FieldChartVolumeUnit},
		{"Place", FieldPlace},
		{"Jurisdiction", FieldPlace},
		{"Limit %", FieldLimit},
		{"Fill limit (%)", FieldLimit},
		{"Device", FieldDevice},
		{"Overfill prevention valve", FieldDevice},
		{"Fill pipe installed", FieldFillPipeInstalled},
		{"Date fill pipe installed", FieldFillPipeInstalled},
		{"Tank installed", ""},
		{"Riser height (in)", FieldRiserHeight},
		{"Riser height to face", FieldRiserHeight},
		{"Height of the riser", FieldRiserHeight},
		{"Riser bore (in)", FieldRiserBore},
		{"Riser inside diameter", FieldRiserBore},
		{"Face to bottom (in)", FieldFaceToBottom},
		{"Overall, face to bottom", FieldFaceToBottom},
		{"Face to btm (in)", FieldFaceToBottom},
		{"Old upper tube (in)", FieldAsFoundUpper},
		{"Sealing face to tank bottom under the fill", FieldFaceToBottom},
		{"Seal", FieldSeal},
		{"Bottom clearance (in)", FieldClearance},
		{"Rise end to end (in)", FieldRise},
		{"Tilt (in)", FieldRise},
		{"Low end", FieldLowEnd},
		{"Fill station (in)", FieldFillStation},
		{"Dip station (in)", FieldDipStation},
		{"Free space for the arm (in)", FieldFreeArm},
		{"As-found upper tube (in)", FieldAsFoundUpper},
		{"Alarm set at (in)", FieldAlarmDepth},
		{"High-level alarm depth", FieldAlarmDepth},
		{"Last inspection", FieldLastInspection},
		{"Vent restrictor", FieldVentRestrictor},
		{"Ball float?", FieldVentRestrictor},
		{"Delivery", FieldDelivery},
		{"Test variant", FieldTestVariant},
		{"Compartment", FieldCompartment},
		{"Remarks", ""},
		{"Phone", ""},
		{"Plan: Shutoff depth (in)", ""},
	} {
		f, score, ok := m.Field(c.text, false)
		if !ok {
			f.Field = ""
		}
		if f.Field != c.want {
			t.Errorf("heading %q is read as %q (%.3f), want %q", c.text, f.Field, score, c.want)
		}
	}
}

func TestDeviceHeadings(t *testing.T) {
	m := NewMatcher(DeviceFields)
	for _, c := range []struct {
		text string
		want Field
	}{
		{"Device", FieldDeviceName},
		{"Shutoff drop (in)", FieldShutoffDrop},
		{"Tube seam to the liquid level at shutoff (in)", FieldShutoffDrop},
		{"Least tube below tank top (in)", FieldLeastBelowTop},
		{"Min. below tank top", FieldLeastBelowTop},
		{"Least upper tube (in)", FieldLeastUpper},
		{"Minimum upper tube (mm)", FieldLeastUpper},
		{"Body length (in)", FieldBodyLength},
		{"Tube outside diameter (in)", FieldTubeDiameter},
		{"Tube OD (in)", FieldTubeDiameter},
		{"Least riser bore (in)", FieldLeastBore},
		{"Free space for the arm (in)", FieldArmSpace},
		{"Test extra (in)", FieldTestExtra},
		{"Least bottom clearance (in)", FieldLeastClearance},
		{"Cut step (in)", FieldCutStep},
		{"Leak test ceiling (psi)", FieldTestPressure},
		{"Stock upper tube (in)", FieldStockUpper},
		{"Stock lower tube (in)", FieldStockLower},
		{"Joints from the tank up", FieldJoints},
		{"Source", FieldSource},
		{"Price", ""},
	} {
		f, score, ok := m.Field(c.text, false)
		if !ok {
			f.Field = ""
		}
		if f.Field != c.want {
			t.Errorf("heading %q is read as %q (%.3f), want %q", c.text, f.Field, score, c.want)
		}
	}
}
