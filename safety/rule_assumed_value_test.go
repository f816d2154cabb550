package safety

import "testing"

func TestAssumedValue(t *testing.T) {
	judge(t, assumedValue, []row{
		{"nobody measured the heat of the return", nil, []found{{"note", "assumed, with a wide band: return heat", nil}}},
		{"somebody did", []string{"engine.return_heat=150 W"}, nil},
		{"a measured rise serves as well", []string{"engine.return_rise=8 K"}, nil},
		{
			"one finding names all, the burn first",
			[]string{"engine.idle_burn=", "engine.return_flow=", "fluid.density="},
			[]found{{"note", "assumed, with a wide band: idle burn, return flow, return heat, density", nil}},
		},
		{
			"a burn from the control unit's figure is not assumed",
			[]string{"engine.idle_burn=", "engine.idle_injection=7.3 mm3/stroke"},
			[]found{{"note", "assumed, with a wide band: return heat", nil}},
		},
	})
}
