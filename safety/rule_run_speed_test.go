package safety

import "testing"

func TestRunSpeed(t *testing.T) {
	judge(t, runSpeed, []row{
		{"1500 rpm, and idle at the end", nil, nil},
		{"2000 rpm", []string{"run.1.speed=2000 rpm"}, nil},
		{"above it", []string{"run.1.speed=2001 rpm"}, []found{{"caution", "2001 rpm without load is over 2000 rpm: return, heat and wear grow with it", []string{"run.1.speed=2000 rpm"}}}},
		{"2500 rpm", []string{"run.1.speed=2500 rpm"}, []found{{"caution", "2500 rpm without load is over 2000 rpm: return, heat and wear grow with it", []string{"run.1.speed=2000 rpm"}}}},
		{"above that", []string{"run.1.speed=2501 rpm"}, []found{{"stop", "2501 rpm without load is over 2500 rpm: return, heat and wear grow with it", []string{"run.1.speed=2000 rpm"}}}},
		{"not idle at the end", []string{"run.3={speed: 1200 rpm, for: 2 min}"}, []found{{"caution", "the last stage is not at idle: turbocharger and fluid do not settle before the engine is switched off", []string{"run.3.speed=idle"}}}},
		{"a run of one stage, and not at idle", []string{"run=[{speed: 1500 rpm, for: 5 min}]"}, []found{{"caution", "the last stage is not at idle: turbocharger and fluid do not settle before the engine is switched off", []string{"run.0.speed=idle"}}}},
		{
			"only the stage above 2000 rpm is slowed",
			[]string{"run=[{speed: 2000 rpm, for: 2 min}, {speed: 2200 rpm, for: 2 min}, {speed: idle, for: 10 min}]"},
			[]found{{"caution", "2200 rpm without load is over 2000 rpm: return, heat and wear grow with it", []string{"run.1.speed=2000 rpm"}}},
		},
		{"a soak behind the idling", []string{"run.3={soak: 5 min}", "run.1.speed=idle"}, nil},
	})
}
