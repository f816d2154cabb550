package safety

import (
	"fmt"
	"math"

	"daytank/planner/quantity"
)

var hosePressure = Rule{
	ID:    "hose-pressure",
	Title: "whether the supply hose stands the feed pressure",
	Source: "0.34 MPa is the working pressure of SAE J30 R7 up to 9.5 mm and of ISO 7840 up to 10 mm (secondary sources); " +
		"a hose that says more is taken at its word",
	When: []When{
		stopWhen("the feed pump gives more than the working pressure of the supply hose, %v where none is printed on it", usualWorkingPressure),
	},
	Why:   "A hose under pressure that bursts, or slips off, sprays fluid over a running engine, and the pump goes on pumping.",
	Lifts: "A hose with a higher working pressure printed on it, or a feed pump with a lower pressure.",
	check: checkHosePressure,
}

// usualWorkingPressure stands in where none is printed on the hose.
const usualWorkingPressure = quantity.Pressure(340e3)

func (s subject) workingPressure() quantity.Pressure {
	if p := s.job.Rig.SupplyHose.WorkingPressure; p != nil {
		return *p
	}
	return usualWorkingPressure
}

func checkHosePressure(s subject) []Finding {
	if !bursts(s) {
		return nil
	}
	pressure := s.job.Rig.FeedPump.Pressure
	found := stop("the feed pump gives %v, and the supply hose stands %v", pressure, s.workingPressure()).
		liftedBy("a hose with a higher working pressure printed on it")
	return []Finding{s.lifted(found, bursts, s.strongerHose(pressure.Kilopascals()))}
}

// strongerHose proposes a supply hose that stands a pressure, to the next 100 kPa.
func (s subject) strongerHose(kilopascals float64) proposal {
	wanted := math.Ceil(kilopascals/100-1e-9) * 100
	return propose(say("a supply hose of %v working pressure or more", quantity.Kilopascals(wanted)),
		fmt.Sprintf("rig.supply_hose.working_pressure=%.0f kPa", wanted))
}

func bursts(s subject) bool {
	return s.job.Rig.Feed == "pump" && s.job.Rig.FeedPump.Pressure > s.workingPressure()
}
