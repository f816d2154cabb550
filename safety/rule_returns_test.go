package safety

import "testing"

func TestReturns(t *testing.T) {
	judge(t, returns, []row{
		{"none", nil, nil},
		{"accounted for", []string{"engine.extra_returns=accounted"}, nil},
		{"open", []string{"engine.extra_returns=open"}, []found{{"stop", "fuel leaves by another way that nobody has looked after: a second return, a second tank or a heater empties the container unseen", nil}}},
	})
}
