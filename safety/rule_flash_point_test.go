package safety

import "testing"

// 38 °C is the least flash point of No. 1-D diesel (ASTM D975), 55 °C that of
// ordinary diesel (EN 590).
func TestFlashPoint(t *testing.T) {
	tooLight := func(shown string) []found {
		return []found{{"stop", "the fluid's flash point of " + shown + " is below the 38 °C of the lightest diesel", nil}}
	}
	light := func(shown string) []found {
		return []found{{"caution", "the fluid's flash point of " + shown + " is below the 55 °C of ordinary diesel", nil}}
	}
	judge(t, flashPoint, []row{
		{"67 °C is above that of diesel", nil, nil},
		{"EN 590, on the limit", []string{flashAt(55)}, nil},
		{"just below it, and never shown as if on it", []string{flashAt(55 - hair)}, light("54 °C")},
		{"ASTM D975 No. 1-D, on the limit", []string{flashAt(38)}, light("38 °C")},
		{"just below it", []string{flashAt(38 - hair)}, tooLight("37 °C")},
		{
			"an extremely flammable liquid cannot have a flash point above 23 °C (UN GHS chapter 2.6)",
			[]string{"fluid.hazards=[H224]"},
			[]found{{"stop", "H224 on the data sheet means a flash point below 23 °C, and the job says 67 °C: one of them is wrong", nil}},
		},
		{
			"nor one of the lightest diesel",
			[]string{"fluid.hazards=[H225]", flashAt(38)},
			[]found{{"stop", "H225 on the data sheet means a flash point below 23 °C, and the job says 38 °C: one of them is wrong", nil}},
		},
		{"petrol", []string{"fluid.flash_point=-40 °C"}, tooLight("-40 °C")},
	})
}
