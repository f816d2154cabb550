package safety

import "testing"

func TestNotAnswered(t *testing.T) {
	judge(t, notAnswered, []row{
		{"everything is answered", nil, nil},
		{
			"one finding names all questions",
			[]string{"condition.leaks=", "engine.stop_device=", "rig.return_fastened=", "rig.container.closed="},
			[]found{{"caution", "not answered yet: leaks, stop device, return fastened, container closed", nil}},
		},
		{"a lamp of a filter that is not there is not asked for", []string{"condition.soot_lamp="}, nil},
	})
}
