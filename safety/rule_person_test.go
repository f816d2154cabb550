package safety

import "testing"

func TestPerson(t *testing.T) {
	const (
		h304 = "swallowed or breathed in as a liquid the fluid can kill (H304)"
		h336 = "its vapour makes drowsy or dizzy (H336), beside an engine that runs"
		no   = "somebody who is pregnant or under 18 does not work with a fluid that can harm genes or a child, or cause cancer"
	)
	rows := []row{
		{"nothing on the data sheet", []string{"fluid.hazards=[]"}, nil},
		{"H315 is for gloves", []string{"fluid.hazards=[H315]"}, nil},
		{"H304", nil, []found{{"caution", h304, nil}}},
		{"H304 and H336", []string{"fluid.hazards=[H304, H336]"}, []found{{"caution", h304, nil}, {"caution", h336, nil}}},
		{"asthma", []string{"fluid.hazards=[]", "site.at_risk=[asthma]"}, []found{{"caution", "vapour and mist can bring on an attack of asthma", nil}}},
		{"pregnant, with nothing that harms a child", []string{"fluid.hazards=[H315]", "site.at_risk=[pregnant]"}, nil},
		{"H351, and nobody at risk", []string{"fluid.hazards=[H351]"}, nil},
	}
	for _, code := range []string{"H340", "H350", "H350i", "H351", "H360", "H360FD", "H361d", "H362"} {
		for _, who := range []string{"pregnant", "under-18"} {
			rows = append(rows, row{code + ", " + who, []string{"fluid.hazards=[" + code + "]", "site.at_risk=[" + who + "]"}, []found{{"stop", no, nil}}})
		}
	}
	judge(t, person, rows)
}
