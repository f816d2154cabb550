package safety

import "testing"

func TestSiphon(t *testing.T) {
	soak := func(minutes string, more ...string) []string {
		return append([]string{"run=[{speed: idle, for: 10 min}, {soak: " + minutes + " min}, {speed: idle, for: 10 min}]"}, more...)
	}
	const above = "rig.lift=-0.3 m"
	judge(t, siphon, []row{
		{"a rise of 0.3 m", []string{"rig.lift=0.3 m"}, nil},
		{"more, with a soak", []string{"rig.lift=0.301 m"}, []found{{"caution", "in the soak the supply hose, which rises 301 mm, can empty itself back into the container, and the engine restarts on air", []string{"rig.non_return_valve=true"}}}},
		{"more, with a valve", []string{"rig.non_return_valve=true"}, nil},
		{"more, without a soak", []string{"run=[{speed: idle, for: 10 min}]"}, nil},
		{"the container above", []string{above}, []found{{"caution", "the container stands above a joint: a loose one floods the engine bay while nobody looks", []string{"rig.lift=0 m"}}}},
		{"above, a soak of half an hour", soak("30", above), []found{{"caution", "the container stands above a joint: a loose one floods the engine bay while nobody looks", []string{"rig.lift=0 m"}}}},
		{"above, a longer one", soak("30.1", above), []found{{"stop", "the container stands above a joint for a soak of over 30 min, without taps: what drips, drips until it is empty", []string{"rig.taps=true"}}}},
		{"above, a longer one, with taps", soak("45", above, "rig.taps=true"), []found{{"caution", "the container stands above a joint: a loose one floods the engine bay while nobody looks", []string{"rig.lift=0 m"}}}},
	})
}
