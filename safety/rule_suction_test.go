package safety

import (
	"testing"

	"daytank/planner"
	"daytank/planner/quantity"
)

func TestSuction(t *testing.T) {
	total := planner.Compute(van(t)).Suction
	limit := func(p quantity.Pressure) []string {
		return []string{"engine.inlet_depression_limit=" + exactly(p.Kilopascals()) + " kPa"}
	}
	// 8 mm is the van's bore; 60 % of the limit is where its 6.84 kPa become a caution.
	sixty := quantity.Pressure(float64(total.Total) / easyPart)
	judge(t, suction, []row{
		{"6.8 of 17 kPa", nil, nil},
		{"60 % of the limit", limit(sixty + hair), nil},
		{"just above 60 %", limit(sixty - 1), []found{{"caution", "the pump may have to pull 6.84 kPa, more than 60 % of its limit of 11.4 kPa", []string{"rig.supply_hose.bore=10 mm"}}}},
		{"just above the limit at the high flow", limit(total.Total - 1), []found{{"caution", "the pump may have to pull 6.84 kPa (6.74 kPa expected), and 6.84 kPa is its limit", []string{"rig.lift=0 m"}}}},
		{"at the limit of the expected flow", limit(total.Expected), []found{{"caution", "the pump may have to pull 6.84 kPa (6.74 kPa expected), and 6.74 kPa is its limit", []string{"rig.lift=0 m"}}}},
		{"just above it", limit(total.Expected - 1), []found{{"stop", "the pump has to pull 6.74 kPa at the expected flow, and 6.73 kPa is its limit: it will draw air, or run hungry", []string{"rig.supply_hose.bore=10 mm"}}}},
		{"fed by a pump", []string{"rig.feed=pump", "rig.feed_pump={pressure: 300 kPa, flow: 60 L/h}", "engine.inlet_depression_limit=1 kPa"}, nil},
	})
}
