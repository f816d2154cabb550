package safety

import "testing"

func TestFuelGrade(t *testing.T) {
	judge(t, fuelGrade, []row{
		{"not known", nil, nil},
		{"EN 590: 7 %", []string{"fluid.fame_percent=7"}, nil},
		{"more", []string{"fluid.fame_percent=7.1"}, []found{{"caution", "the fluid has 7.1 % of methyl ester, more than the 7 % of diesel fuel: it swells seals and loosens old deposits", nil}}},
	})
}
