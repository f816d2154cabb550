package safety

import "testing"

func TestVentilation(t *testing.T) {
	judge(t, ventilation, []row{
		{"outdoors the exhaust goes away", nil, nil},
		{"extraction at the tailpipe takes it away", []string{"site.place=extraction"}, nil},
		{
			"indoors it stays, open doors or not",
			[]string{"site.place=indoors"},
			[]found{{"stop", "the engine would idle for 42 min indoors without extraction", []string{"site.place=outdoors"}}},
		},
	})
}
