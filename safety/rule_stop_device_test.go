package safety

import "testing"

func TestStopDevice(t *testing.T) {
	judge(t, stopDevice, []row{
		{"an electronic engine stops with its key", []string{"engine.stop_device=unproved"}, nil},
		{"a mechanical one, proved", []string{"engine.injectors=mechanical", "engine.stop_device=proved"}, nil},
		{"a mechanical one, unproved", []string{"engine.injectors=mechanical", "engine.stop_device=unproved"}, []found{{"stop", "nobody has tried how this engine is stopped, and a mechanical one may run on with the key off", nil}}},
	})
}
