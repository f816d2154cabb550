package safety

import (
	"testing"

	"daytank/planner"
)

// The return must stand 85 °C, the hottest return of this engine, and 10 K
// more; the supply the fluid's peak of the high case, 57.7 °C, and 10 K more
// (the margin is this project's own).
func TestHoseRating(t *testing.T) {
	supply := planner.Compute(van(t)).Supply.Required.Celsius()
	rated := func(line string, celsius float64) []string {
		return []string{"rig." + line + "_hose.rating=" + exactly(celsius) + " °C"}
	}
	judge(t, hoseRating, []row{
		{"100 and 125 °C, both fuel hoses", nil, nil},
		{"return, on the limit", rated("return", 95), nil},
		{
			"return, just below",
			rated("return", 95-hair),
			[]found{{"stop", "the return hose is rated to 95 °C, and 95 °C is wanted", []string{"rig.return_hose.rating=95 °C"}}},
		},
		{"supply, just above", rated("supply", supply+hair), nil},
		{
			"supply, just below",
			rated("supply", supply-hair),
			[]found{{"stop", "the supply hose is rated to 68 °C, and 68 °C is wanted", []string{"rig.supply_hose.rating=70 °C"}}},
		},
		{
			"supply, as whole degrees are printed on hoses: 67 °C do not read as enough",
			rated("supply", 67),
			[]found{{"stop", "the supply hose is rated to 67 °C, and 68 °C is wanted", []string{"rig.supply_hose.rating=70 °C"}}},
		},
		{
			"a rating that nobody knows",
			[]string{"rig.supply_hose.rating="},
			[]found{{"caution", "no temperature rating of the supply hose is known, and 68 °C is wanted", nil}},
		},
		{
			"not for fuel",
			[]string{"rig.supply_hose.fuel_rated=false"},
			[]found{{"stop", "the supply hose is not rated for fuel", []string{"rig.supply_hose.fuel_rated=true"}}},
		},
		{
			"clear PVC on the return",
			[]string{"rig.return_hose.material=clear-pvc"},
			[]found{{"stop", "clear PVC on the return: it softens with warm fuel", []string{"rig.return_hose.material=rubber"}}},
		},
		{"clear PVC on the supply stays cool", []string{"rig.supply_hose.material=clear-pvc"}, nil},
		{
			"to no standard",
			[]string{"rig.return_hose.standard=none"},
			[]found{{"caution", "the return hose is rated to no standard", nil}},
		},
		{
			"both hoses with two faults, each lifted by itself",
			[]string{
				"rig.supply_hose.fuel_rated=false", "rig.supply_hose.rating=50 °C",
				"rig.return_hose.fuel_rated=false", "rig.return_hose.rating=50 °C",
			},
			[]found{
				{"stop", "the supply hose is not rated for fuel", []string{"rig.supply_hose.fuel_rated=true"}},
				{"stop", "the supply hose is rated to 50 °C, and 68 °C is wanted", []string{"rig.supply_hose.rating=70 °C"}},
				{"stop", "the return hose is not rated for fuel", []string{"rig.return_hose.fuel_rated=true"}},
				{"stop", "the return hose is rated to 50 °C, and 95 °C is wanted", []string{"rig.return_hose.rating=95 °C"}},
			},
		},
		{
			"EN 1360, dispensing-pump hose: −30 to 55 °C; the return is hotter",
			rated("return", 55),
			[]found{{"stop", "the return hose is rated to 55 °C, and 95 °C is wanted", []string{"rig.return_hose.rating=95 °C"}}},
		},
		{"SAE J30 R6, 100 °C, for a return of 85 °C", rated("return", 100), nil},
		{"ISO 19013-1 type 1, 80 °C, for the supply", rated("supply", 80), nil},
		{"to a standard", []string{"rig.return_hose.standard=SAE J30 R9"}, nil},
	})
}
