package safety

import "testing"

func TestWrongRemedy(t *testing.T) {
	stops := func(message string) []found { return []found{{"stop", message, nil}} }
	cautions := func(message string) []found { return []found{{"caution", message, nil}} }
	beyond := func(correction, limit string) []found {
		return cautions("a correction of " + correction + " is beyond the limit of " + limit + ": test that injector before cleaning")
	}
	judge(t, wrongRemedy, []row{
		{"rough when warm, and nothing else wrong", nil, nil},
		{"metal", []string{"condition.fuel_sample=metal"}, stops("metal in the fuel: the high-pressure side is breaking up, and fluid would carry it on")},
		{"water", []string{"condition.fuel_sample=water"}, stops("water in the fuel")},
		{"petrol", []string{"condition.fuel_sample=petrol"}, stops("petrol in the fuel")},
		{"leaking", []string{"condition.leaks=leaking"}, stops("the fuel system leaks")},
		{"weeping", []string{"condition.leaks=weeping"}, cautions("a joint of the fuel system is weeping, and solvent may open it further")},
		{"an electrical fault", []string{"condition.stored_faults=electrical"}, stops("an electrical fault is stored")},
		{"another fault may be what the clean is for", []string{"condition.stored_faults=other"}, nil},
		{"oil level", []string{"condition.oil_level=high"}, stops("the oil level is high: fuel may be in the oil, and a runaway can follow")},
		{"seals", []string{"condition.seals=hardened"}, stops("seals or hoses are hardened, and solvent would make them leak")},
		{"no symptom", []string{"condition.symptom=none"}, cautions("no symptom is given: without a finding there is nothing to clean for")},
		// 5 mm³/stroke: common practice, no source.
		{"correction on the limit", []string{"condition.worst_correction=5 mm3/stroke"}, nil},
		{"correction just beyond", []string{"condition.worst_correction=5.01 mm3/stroke"}, beyond("5.01 mm³/stroke", "5 mm³/stroke")},
		{"downwards on the limit", []string{"condition.worst_correction=-5 mm3/stroke"}, nil},
		{"downwards just beyond", []string{"condition.worst_correction=-5.01 mm3/stroke"}, beyond("-5.01 mm³/stroke", "5 mm³/stroke")},
		{
			"the maker's own limit goes first",
			[]string{"engine.correction_limit=2 mm3/stroke"},
			beyond("2.1 mm³/stroke", "2 mm³/stroke"),
		},
		{
			"each is named",
			[]string{"condition.fuel_sample=water", "condition.leaks=leaking", "condition.symptom=none"},
			[]found{
				{"stop", "water in the fuel", nil},
				{"stop", "the fuel system leaks", nil},
				{"caution", "no symptom is given: without a finding there is nothing to clean for", nil},
			},
		},
	})
}
