package proof

import (
	"cmp"
	"slices"

	"daytank/planner/idletest"
)

// Aged is a test with its place in the life of an engine.
type Aged struct {
	Job  string
	Test idletest.Test
	Day  float64 // since 2000-01-01
}

// Life is how an engine goes over all its jobs.
type Life struct {
	Asset   string   `json:"asset"`
	By      string   `json:"by"` // odometer_km, engine_h or date_days (since 2000-01-01)
	States  []Ageing `json:"states"`
	LeftOut []string `json:"left_out"` // tests that could not be taken, and why
}

// Ageing is the tests in one state, in order.
type Ageing struct {
	State  idletest.State `json:"state"`
	Unit   idletest.Unit  `json:"unit"`
	Limit  float64        `json:"limit"`
	Points []Point        `json:"points"`
	Trend  idletest.Trend `json:"trend"`
}

// Point is one test.
type Point struct {
	Job   string         `json:"job"`
	Phase idletest.Phase `json:"phase"`
	On    string         `json:"on"`
	At    float64        `json:"at"`
	RMS   float64        `json:"rms"`
}

// usualLimit is the limit of a correction, common practice.
const usualLimit = 5.0

// LifeOf puts tests in order by odometer where all have one, else by engine hours,
// else by date.
func LifeOf(asset string, tests []Aged, rules idletest.Rules) Life {
	l := Life{Asset: asset, By: "date_days", States: []Ageing{}, LeftOut: []string{}}
	every := func(has func(idletest.Test) bool) bool {
		return !slices.ContainsFunc(tests, func(a Aged) bool { return !has(a.Test) })
	}
	at := func(a Aged) float64 { return a.Day }
	switch {
	case every(func(t idletest.Test) bool { return t.Odometer != nil }):
		l.By, at = "odometer_km", func(a Aged) float64 { return a.Test.Odometer.Kilometres() }
	case every(func(t idletest.Test) bool { return t.EngineHours != nil }):
		l.By, at = "engine_h", func(a Aged) float64 { return a.Test.EngineHours.Hours() }
	}
	for _, state := range []idletest.State{idletest.Hot, idletest.Cold} {
		s := Ageing{State: state, Points: []Point{}}
		for _, a := range tests {
			if a.Test.State != state {
				continue
			}
			r := idletest.Reduce(a.Test, rules)
			leave := func(why string) {
				l.LeftOut = append(l.LeftOut, a.Job+", "+string(a.Test.Phase)+", "+string(state)+": "+why)
			}
			switch {
			case len(r.Reasons) > 0:
				why, _ := r.Reasons[0].MarshalText()
				leave(string(why))
			case a.Test.Measure != idletest.Corrections:
				leave("it measures " + string(a.Test.Measure))
			case s.Unit != "" && r.Unit != s.Unit:
				leave("it is in " + string(r.Unit))
			default:
				s.Unit = r.Unit
				s.Points = append(s.Points, Point{Job: a.Job, Phase: a.Test.Phase, On: a.Test.On, At: at(a), RMS: r.RMS})
			}
		}
		if len(s.Points) == 0 {
			continue
		}
		slices.SortStableFunc(s.Points, func(a, b Point) int {
			return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.On, b.On), -cmp.Compare(a.Phase, b.Phase))
		})
		if s.Limit = rules.Limit; s.Limit == 0 && s.Unit == idletest.CubicMillimetres {
			s.Limit = usualLimit
		}
		var points []idletest.Point
		for _, p := range s.Points {
			points = append(points, idletest.Point{X: p.At, RMS: p.RMS})
		}
		s.Trend = idletest.TrendOf(points, s.Limit)
		l.States = append(l.States, s)
	}
	return l
}
