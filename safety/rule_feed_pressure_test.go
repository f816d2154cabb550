package safety

import "testing"

func TestFeedPressure(t *testing.T) {
	pump := func(pressure string) []string {
		return []string{"rig.feed=pump", "rig.feed_pump={pressure: " + pressure + ", flow: 70 L/h}"}
	}
	// The hose of 340 kPa does not stand such a pump, so one that does comes with it.
	with := func(pump []string, hose string) []string {
		return append(pump, "rig.supply_hose.working_pressure="+hose+" kPa")
	}
	const (
		unstated = "the vehicle's tank pump will be dead, and it is not stated that the high-pressure pump draws for itself"
		starved  = "the vehicle's tank pump will be dead, and the high-pressure pump does not draw for itself"
	)
	judge(t, feedPressure, []row{
		{"the high-pressure pump draws for itself", nil, nil},
		{"nobody said so", []string{"engine.own_feed_pump="}, []found{{"stop", unstated, with(pump("400 kPa"), "400")}}},
		{"it does not", []string{"engine.own_feed_pump=false"}, []found{{"stop", starved, with(pump("400 kPa"), "400")}}},
		{
			"it does not, and the hose stands just the pump that is proposed",
			[]string{"engine.own_feed_pump=false", "rig.supply_hose.working_pressure=400 kPa"},
			[]found{{"stop", starved, pump("400 kPa")}},
		},
		{"it does not, and a pump feeds it", append(pump("400 kPa"), "engine.own_feed_pump=false"), nil},
		{
			"the other layout that a tank pump feeds",
			[]string{"engine.layout=rail-recirculating", "engine.own_feed_pump="},
			[]found{{"stop", unstated, with(pump("400 kPa"), "400")}},
		},
		{"a layout that always draws for itself", []string{"engine.layout=rail-suction", "engine.own_feed_pump="}, nil},
		{
			"an engine that wants pressure and gets none; the pump proposed gives as much",
			[]string{"engine.feed_pressure_needed=500 kPa"},
			[]found{{"stop", "this engine wants 500 kPa of feed pressure, and nothing on the rig gives it", with(pump("500 kPa"), "500")}},
		},
		{"a wanted pressure of nothing is none", []string{"engine.feed_pressure_needed=0 kPa"}, nil},
		{"a pump of just that pressure", append(pump("500 kPa"), "engine.feed_pressure_needed=500 kPa"), nil},
		{
			"a pump just too weak",
			append(pump("499 kPa"), "engine.feed_pressure_needed=500 kPa"),
			[]found{{"stop", "the feed pump gives 499 kPa, and this engine wants 500 kPa", with(pump("500 kPa"), "500")}},
		},
	})
}
