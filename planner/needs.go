package planner

import "daytank/planner/quantity"

// Need is a thing to have at hand before the work begins.
type Need struct {
	Item   string
	Amount any    // an int, a quantity.Volume or a quantity.Length
	Unit   string // of a number: pieces, packs, pairs, people
	Why    quantity.Phrase
}

// Counts of small parts (common practice, no source): the fuel system is opened
// at two places, each leaves two ends; two spares of each, because one falls into
// the engine bay.
const (
	openings  = 2
	endsEach  = 2
	spares    = 2
	smallPart = openings*endsEach + spares
)

// Needs gives what to have ready for a plan: what the numbers ask for first, then
// what the work always takes.
func (j Job) Needs(p Plan) []Need {
	var all needs
	all.fluid(j, p)
	all.rig(j, p)
	all.work(j, p)
	all.person(j)
	return all
}

type needs []Need

func (n *needs) pieces(item string, count int, why string, args ...any) {
	n.counted(item, count, "pieces", why, args...)
}

func (n *needs) counted(item string, count int, unit, why string, args ...any) {
	*n = append(*n, Need{item, count, unit, quantity.Say(why, args...)})
}

func (n *needs) volume(item string, v quantity.Volume, why string, args ...any) {
	*n = append(*n, Need{Item: item, Amount: v, Why: quantity.Say(why, args...)})
}

func (n *needs) length(item string, l quantity.Length, why string, args ...any) {
	*n = append(*n, Need{Item: item, Amount: l, Why: quantity.Say(why, args...)})
}

func (n *needs) fluid(j Job, p Plan) {
	n.counted("cleaning fluid: "+packName(j), p.Fluid.Packs, "packs", "of %v each: %v are poured in, %v are needed", j.Fluid.Pack, p.Fluid.Charge, p.Fluid.Needed)
	n.pieces("data sheet of the fluid, on paper", 1, "it goes along to a doctor or to the fire brigade")
	n.volume("container, closed, vented, of bonded metal", j.ContainerNeeded(p), "the charge warmed, with a tenth of room; stop level at %v", quantity.Fine(p.RunDry.StopLevel))
	n.volume("waste can with a lid and a label", p.Waste.Container, "%v to take away, and a quarter of room", p.Waste.Liquid)
	n.volume("clean fuel to prime with", p.Priming.Volume, "line and filter are filled before the first start")
	var dose quantity.Volume
	for _, d := range p.Doses {
		if !d.OfFluid {
			dose += d.Amount
		}
	}
	if dose > 0 {
		n.volume("tank additive", dose, "for the fuel that is in the tanks now, after the second test")
	}
}

// packName is the name of the fluid, or a word for it.
func packName(j Job) string {
	if j.Fluid.Name == "" {
		return "the fluid"
	}
	return j.Fluid.Name
}

func (n *needs) rig(j Job, p Plan) {
	r := j.Rig
	n.length("supply hose, fuel-rated", r.SupplyHose.Length, "%v bore, to stand %v", r.SupplyHose.Bore, p.Supply.Required)
	n.length("return hose, fuel-rated", r.ReturnHose.Length, "%v bore, to stand %v", r.ReturnHose.Bore, p.Return.Required)
	n.pieces("hose clips", smallPart, "two at each opening, and two spares")
	n.pieces("caps for open ends", smallPart, "two at each opening, and two spares: nothing drips, nothing gets in")
	n.pieces("inline filter for the supply", 1, "it catches the dirt of pack and container before the pump does")
	if r.ReturnDrop > 0 {
		n.pieces("inline filter for the return", 1, "it catches what the cleaning loosens, and is kept as evidence")
	}
	if r.Feed == "pump" {
		n.pieces("electric feed pump", 1, "%v and %v, on a switch of its own", r.FeedPump.Pressure, r.FeedPump.Flow)
	}
	if r.Taps {
		n.pieces("taps", openings, "one in each hose, so that nothing runs while the engine stands")
	}
	if c := r.Coil; c != nil {
		n.length("coil of "+c.Material+" pipe for the return", c.Length, "it keeps the fluid to %v at worst", p.Heat.Peak.High)
		n.volume("water in a bucket for the coil", c.Water, "it takes the heat of the return")
	}
}

func (n *needs) work(j Job, p Plan) {
	n.pieces("new fuel filter", 1, "the old one holds what was loosened")
	n.pieces("new sealing washers", smallPart, "one for each joint that is opened")
	n.pieces("drip tray", 1, "below container and openings")
	n.pieces("closed metal can for rags", 1, "rags with solvent can catch fire by themselves")
	n.pieces("extinguisher for burning liquids, class B", 1, "at your side of the way out")
	n.pieces("thermometer for the container", 1, "warm from %v, off at %v", p.Heat.Warm, p.Heat.Hot)
	n.pieces("jug and watch", 1, "to measure the return for a minute at idle")
	n.pieces("kitchen scale", 1, "the surest way to read what is left")
	n.pieces("cardboard to look for jets", 1, "a jet of fuel goes through skin: never a finger")
	if j.Site.Place != "outdoors" {
		n.pieces("tail-pipe hose and fan", 1, "inside, the exhaust kills; the hose has to stand a regeneration")
	}
	if j.Engine.Layout.Mechanical {
		n.pieces("plate for the air intake", 1, "a mechanical engine may run on with the key off: flat, larger than the opening, with a grip")
	}
}

func (n *needs) person(j Job) {
	n.counted("gloves that stand fuel, and glasses", max(1, j.Site.People), "pairs", "one for everybody at the engine")
	if j.Site.Alone() {
		n.counted("second person", 1, "people", "watches the return at the key, and releases the hold points")
	}
}
