package safety

import "testing"

func TestAlone(t *testing.T) {
	caution := []found{{"caution", "one person works: nobody is at the key while the other looks, and nobody calls for help", []string{"site.people=2"}}}
	judge(t, alone, []row{
		{"two people", nil, nil},
		{"one person, cool fluid", []string{"site.people=1"}, caution},
		{"nobody said how many: one", []string{"site.people="}, caution},
		{
			"one person, and the fluid may get warm: flash point 62 °C, hot from 57 °C, peak of the high case 58 °C",
			[]string{"site.people=1", "fluid.flash_point=62 °C"},
			[]found{{"stop", "one person works, and the fluid may reach 58 °C (expected 33 °C); from 45 °C on it counts as warm", []string{"site.people=2"}}},
		},
		{"the same with two people", []string{"fluid.flash_point=62 °C"}, nil},
		{"where the temperature is a stop already, being alone is no second one", []string{"site.people=1", "rig.return_cooler=none"}, caution},
	})
}
