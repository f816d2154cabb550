package report

import (
	"fmt"
	"io"

	"daytank/planner"
	"daytank/planner/quantity"
)

// Suction is what the engine's own pump pulls at its inlet.
type Suction struct {
	Flow          float64  `json:"flow_l_per_h"`
	Viscosity     float64  `json:"viscosity_mm2_s"`
	Reynolds      float64  `json:"reynolds"`
	Friction      float64  `json:"friction_kpa"`
	Lift          float64  `json:"lift_kpa"`
	Filter        float64  `json:"filter_kpa"`
	Total         float64  `json:"total_kpa"`
	ExpectedTotal float64  `json:"expected_total_kpa"`
	Limit         float64  `json:"limit_kpa"`
	SmallestBore  *float64 `json:"smallest_bore_mm"` // null where none is wide enough
}

func ofSuction(s *planner.Suction) *Suction {
	if s == nil {
		return nil
	}
	kpa := func(p quantity.Pressure) float64 { return round(p.Kilopascals(), 3) }
	out := Suction{
		Flow: round(s.Flow.LitresPerHour(), 2), Viscosity: round(s.Viscosity.SquareMillimetresPerSecond(), 3), Reynolds: round(s.Reynolds, 0),
		Friction: kpa(s.Friction), Lift: kpa(s.Lift), Filter: kpa(s.Filter), Total: kpa(s.Total), ExpectedTotal: kpa(s.Expected), Limit: kpa(s.Limit),
	}
	if s.SmallestBore != nil {
		out.SmallestBore = rounded(s.SmallestBore.Millimetres(), 1)
	}
	return &out
}

// Dose is how much of a product goes into a tank.
type Dose struct {
	Product  string  `json:"product"` // tank additive | cleaning fluid
	Tank     string  `json:"tank"`
	FuelL    float64 `json:"fuel_l"`
	MinML    float64 `json:"min_ml"`
	MaxML    float64 `json:"max_ml"`
	DoseML   float64 `json:"dose_ml"`
	Measures *int    `json:"measures"` // null where it is measured in plain volume
}

// OfDoses gives the model of doses.
func OfDoses(doses []planner.Dose) []Dose {
	all := []Dose{}
	for _, d := range doses {
		out := Dose{
			Product: "tank additive", Tank: d.Tank, FuelL: round(d.Fuel.Litres(), 2),
			MinML: ml(d.Min), MaxML: ml(d.Max), DoseML: ml(d.Amount),
		}
		if d.OfFluid {
			out.Product = "cleaning fluid"
		}
		if d.Measures > 0 {
			out.Measures = &d.Measures
		}
		all = append(all, out)
	}
	return all
}

// DoseText writes doses for a person, a line each.
func DoseText(w io.Writer, doses []planner.Dose, measure quantity.Volume, show quantity.Printer) {
	for _, d := range doses {
		amount := show.VolumeFine(d.Amount)
		switch {
		case d.Fuel <= 0:
			amount = "none: the tank is empty"
		case d.Amount <= 0:
			amount = "none"
		case d.Measures > 0:
			amount += fmt.Sprintf(", %s of %s", Counted(d.Measures, "measure"), show.Volume(measure))
		}
		product := ""
		if d.OfFluid {
			product = "instead, the cleaning fluid itself: "
		}
		fmt.Fprintf(w, "  %-10s %8s of fuel   %s%s", Plain(d.Tank), show.Volume(d.Fuel), product, amount)
		if d.Amount > 0 {
			fmt.Fprintf(w, "   (%s to %s)", show.VolumeFine(d.Min), show.VolumeFine(d.Max))
		}
		fmt.Fprintln(w)
	}
}

// Waste is what is taken away, and the can for it.
type Waste struct {
	LiquidML    float64 `json:"liquid_ml"`
	ContainerML float64 `json:"container_ml"`
}

// Need is a thing to have ready.
type Need struct {
	Item   string  `json:"item"`
	Amount float64 `json:"amount"`
	Unit   string  `json:"unit"` // pieces, packs, pairs, people, mL, m
	Why    string  `json:"why"`
}

// OfNeeds gives the model of what to have ready.
func OfNeeds(needs []planner.Need, show quantity.Printer) []Need {
	all := []Need{}
	for _, n := range needs {
		out := Need{Item: n.Item, Unit: n.Unit, Why: show.Phrase(n.Why)}
		switch x := n.Amount.(type) {
		case int:
			out.Amount = float64(x)
		case quantity.Volume:
			out.Amount, out.Unit = ml(x), "mL"
		case quantity.Length:
			out.Amount, out.Unit = round(x.Metres(), 2), "m"
		}
		all = append(all, out)
	}
	return all
}

// NeedsText writes what to have ready for a person, to be ticked off on paper.
func NeedsText(w io.Writer, j planner.Job, p planner.Plan, show quantity.Printer) {
	fmt.Fprintf(w, "%s: what to have ready\n\n", j.Asset)
	for _, n := range j.Needs(p) {
		amount := show.Any(n.Amount)
		if n.Unit != "" && n.Unit != "pieces" && n.Unit != "people" {
			amount = Counted(n.Amount.(int), n.Unit[:len(n.Unit)-1])
		}
		fmt.Fprintf(w, "  [ ] %8s  %s\n", amount, Plain(n.Item))
		fmt.Fprintln(w, wrapped(show.Phrase(n.Why), "                "))
	}
	if p.Cost != nil {
		fmt.Fprintf(w, "\n  the packs cost %s\n", show.Any(round(*p.Cost, 2)))
	}
}
