package safety

import "testing"

func TestLoopUncooled(t *testing.T) {
	unit := []string{"engine.layout=unit-injector", "engine.injectors=", "engine.stop_device=proved", "run=[{speed: idle, for: 5 min}]"}
	judge(t, loopUncooled, []row{
		{"another layout without a coil", []string{noCoil}, nil},
		{"with a coil", unit, nil},
		{"without", append([]string{noCoil}, unit...), []found{{"caution", "the return is opened before the vehicle's fuel cooler, and nothing else cools the loop", []string{"rig.return_cooler={material: metal, length: 3 m, water: 10 L}"}}}},
	})
}
