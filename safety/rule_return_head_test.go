package safety

import (
	"testing"

	"daytank/planner"
)

func TestReturnHead(t *testing.T) {
	rotary := []string{"engine.layout=rotary", "engine.injectors=", "engine.stop_device=proved", "engine.return_flow="}
	head := func(kilopascals float64, more ...string) []string {
		// The van's return of 66 L/h takes 1.0234 kPa of the hose; the rest is lift.
		base := planner.Compute(van(t, more...)).ReturnHead
		metres := (kilopascals*1000 - float64(base)) / (808 * 9.80665)
		return append([]string{"rig.return_lift=" + exactly(metres) + " m"}, more...)
	}
	judge(t, returnHead, []row{
		{"1.0 kPa", nil, nil},
		{"at 10 kPa", head(10 - hair), nil},
		{"just above", head(10 + hair), []found{{"caution", "the return is pushed against 10 kPa, more than 10 kPa", []string{"rig.return_hose.bore=10 mm"}}}},
		{"at 20 kPa", head(20 - hair), []found{{"caution", "the return is pushed against 20 kPa, more than 10 kPa", []string{"rig.return_lift=0 m"}}}},
		{"just above that", head(20 + hair), []found{{"stop", "the return is pushed against 20 kPa, and 20 kPa is the most that this fuel system takes", []string{"rig.return_hose.bore=10 mm"}}}},
		{"a rotary pump stops at 10", head(10+hair, rotary...), []found{{"stop", "the return is pushed against 10 kPa, and 10 kPa is the most that this fuel system takes", []string{"rig.return_hose.bore=10 mm"}}}},
		{"a rotary pump below it", head(10-hair, rotary...), nil},
		{"a filter in a rotary's return", append([]string{"rig.return_filter_drop=0.5 kPa"}, rotary...), []found{{"caution", "a filter in the return of a rotary pump: once it clogs, the pressure in the pump's case rises and injection stops", []string{"rig.return_filter_drop=0 kPa"}}}},
		{"one in another's", []string{"rig.return_filter_drop=0.5 kPa"}, nil},
	})
}
