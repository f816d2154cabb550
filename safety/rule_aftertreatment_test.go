package safety

import "testing"

func TestAftertreatment(t *testing.T) {
	const filter = "engine.aftertreatment=particulate-filter"
	idle := func(minutes string) []string {
		return []string{filter, "run=[{speed: idle, for: 10 min}, {speed: 1500 rpm, for: 4 min}, {speed: idle, for: " + minutes + " min}]"}
	}
	judge(t, aftertreatment, []row{
		{"no filter", nil, nil},
		{"a filter, 15 min of idling", idle("5"), nil},
		{"more", idle("5.5"), []found{{"caution", "16 min of idling with a particulate filter, more than 15 min: it fills with soot", []string{"run.0.for=9.5 min", "run.2.for=5 min"}}}},
		{
			"half a minute is left of a short stage, less than that of none",
			[]string{filter, "run=[{speed: idle, for: 30 min}, {speed: 1500 rpm, for: 4 min}, {speed: idle, for: 1.5 min}]"},
			[]found{{"caution", "32 min of idling with a particulate filter, more than 15 min: it fills with soot", []string{"run.0.for=14 min", "run.2.for=0.5 min"}}},
		},
		{
			"a stage that would be shorter still",
			[]string{filter, "run=[{speed: idle, for: 30 min}, {speed: 1500 rpm, for: 4 min}, {speed: idle, for: 1 min}]"},
			[]found{{"caution", "31 min of idling with a particulate filter, more than 15 min: it fills with soot", nil}},
		},
		{"its lamp is lit", []string{"condition.soot_lamp=on"}, []found{{"stop", "the lamp of the particulate filter is lit: long idling on fluid fills it further, and it will burn itself clean hot", nil}}},
		{"it burns itself clean", []string{"condition.soot_lamp=regenerating"}, []found{{"stop", "the particulate filter is burning itself clean: its exhaust is hot enough to set fire", nil}}},
	})
}
