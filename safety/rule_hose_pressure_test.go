package safety

import "testing"

func TestHosePressure(t *testing.T) {
	pump := func(pressure string, more ...string) []string {
		return append([]string{"rig.feed=pump", "rig.feed_pump={pressure: " + pressure + ", flow: 60 L/h}"}, more...)
	}
	judge(t, hosePressure, []row{
		{"no pump", nil, nil},
		{"340 kPa, SAE J30 R7 up to 9.5 mm, where nothing is printed", pump("340 kPa"), nil},
		{"just above", pump("341 kPa"), []found{{"stop", "the feed pump gives 341 kPa, and the supply hose stands 340 kPa", []string{"rig.supply_hose.working_pressure=400 kPa"}}}},
		{"ISO 19013-1 class A, 0.7 MPa", pump("700 kPa", "rig.supply_hose.working_pressure=0.7 MPa"), nil},
		{"above what is printed", pump("701 kPa", "rig.supply_hose.working_pressure=0.7 MPa"), []found{{"stop", "the feed pump gives 701 kPa, and the supply hose stands 700 kPa", []string{"rig.supply_hose.working_pressure=800 kPa"}}}},
		{"ISO 7840 above 10 mm, 0.25 MPa as printed", pump("300 kPa", "rig.supply_hose.working_pressure=250 kPa"), []found{{"stop", "the feed pump gives 300 kPa, and the supply hose stands 250 kPa", []string{"rig.supply_hose.working_pressure=300 kPa"}}}},
	})
}
