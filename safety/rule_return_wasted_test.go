package safety

import (
	"testing"

	"daytank/planner"
)

func TestReturnWasted(t *testing.T) {
	wasted := []string{"rig.return_to=waste", "rig.charge=36 L", "rig.container.capacity=40 L"}
	back := []string{"rig.return_to=container"}
	needed := planner.Compute(van(t, wasted...)).Fluid.Needed.Litres()
	room := func(litres float64) []string {
		return []string{"rig.return_to=waste", "rig.charge=36 L", "rig.container.capacity=" + exactly(litres) + " L"}
	}
	judge(t, returnWasted, []row{
		{"led back", nil, nil},
		{"led away, with room for it", wasted, []found{{"caution", "the return is led away: the container empties at 68.2 L/h, which is what burns and what comes back", back}}},
		{"room for just what is needed", room(needed + hair), []found{{"caution", "the return is led away: the container empties at 68.2 L/h, which is what burns and what comes back", back}}},
		{"no room for it", room(needed - hair), []found{{"stop", "with the return led away 18.9 L are needed, and the container holds 18.9 L", back}}},
	})
}
