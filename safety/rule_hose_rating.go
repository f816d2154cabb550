package safety

import (
	"fmt"
	"math"

	"daytank/planner"
	"daytank/planner/quantity"
)

var hoseRating = Rule{
	ID:    "hose-rating",
	Title: "whether the hoses withstand fuel and heat",
	Source: "ratings as of ISO 19013-1, SAE J30 and ISO 7840 (scopes in secondary sources); " +
		"the margin of 10 K is this project's own",
	When: []When{
		stopWhen("a hose is rated below what is wanted: for the supply the warmest fluid of the high case and %v; for the return that or the engine's hottest return, whichever is more, and %v",
			planner.MarginOfRating, planner.MarginOfRating),
		stopWhen("a hose is not rated for fuel"),
		stopWhen("the return is clear PVC"),
		cautionWhen("nothing says what temperature a hose is rated to"),
		cautionWhen("a hose is rated to no standard"),
	},
	Why:      "A hose that is too warm, or not made for fuel, swells, softens and slips off its stub, or bursts, with the engine drawing from it beside a hot manifold. What slips off is the return, and the container runs empty on the floor.",
	Lifts:    "A fuel hose with its rating printed on it, to the figure of the plan or more; a cooler return brings the figure of the supply down.",
	Formulas: []string{"hose", "container-heat"},
	check:    checkHoseRating,
}

func checkHoseRating(s subject) []Finding {
	supply := hoseFindings(s, "supply", s.job.Rig.SupplyHose, s.plan.Supply)
	return append(supply, hoseFindings(s, "return", s.job.Rig.ReturnHose, s.plan.Return)...)
}

func hoseFindings(s subject, line string, h planner.Hose, need planner.HoseNeed) []Finding {
	var found []Finding
	path := "rig." + line + "_hose."
	stays := func(severity Severity, about string) func(subject) bool {
		return func(s subject) bool {
			for _, f := range checkHoseRating(s) {
				if f.Severity == severity && f.Message.Format == about {
					return true
				}
			}
			return false
		}
	}
	if h.FuelRated != nil && !*h.FuelRated {
		f := stop("the " + line + " hose is not rated for fuel").liftedBy("a fuel hose")
		found = append(found, s.lifted(f, stays(Stop, f.Message.Format), propose(say("a fuel hose"), path+"fuel_rated=true")))
	}
	if h.Material == "clear-pvc" && line == "return" {
		f := stop("clear PVC on the return: it softens with warm fuel").liftedBy("a fuel hose")
		found = append(found, s.lifted(f, stays(Stop, f.Message.Format), propose(say("a rubber fuel hose"), path+"material=rubber")))
	}
	// Rounded up, so that a rating just below it does not read as enough.
	wanted := quantity.Celsius(math.Ceil(need.Required.Celsius()))
	switch {
	case h.Rating == nil:
		found = append(found, caution("no temperature rating of the "+line+" hose is known, and %v is wanted", wanted).
			liftedBy("read the rating printed on the hose, or take one that has it"))
	case *h.Rating < need.Required:
		f := stop("the "+line+" hose is rated to %v, and %v is wanted", *h.Rating, wanted).liftedBy("a hose with a higher rating")
		rating := quantity.Celsius(math.Ceil(need.Required.Celsius()/5) * 5)
		found = append(found, s.lifted(f, stays(Stop, f.Message.Format),
			propose(say("a hose rated to %v or more", rating), fmt.Sprintf("%srating=%.0f °C", path, rating.Celsius()))))
	}
	if h.Standard == "none" {
		found = append(found, caution("the "+line+" hose is rated to no standard").liftedBy("a hose with a standard printed on it"))
	}
	return found
}
