package report

import (
	"fmt"
	"math"
	"strings"

	"daytank/planner"
	"daytank/planner/quantity"
)

// Widths of the picture, in characters.
const (
	levelBar = 30
	heatBar  = 14
)

// picture draws the run, a line for each row of the level table: how far the
// container is filled, with the band and the stop level, and how warm it is, with
// warm and hot. Characters only; nothing rests on colour.
func (t planText) picture() {
	if len(t.plan.Levels) == 0 {
		return
	}
	most := scaleOfLevels(t.plan)
	coldest, hottest := scaleOfHeat(t.plan)
	fmt.Fprintln(t.w, "the run in a picture")
	for _, l := range t.plan.Levels {
		fmt.Fprintf(t.w, "  %8s  %8s [%s]  %6s [%s]\n",
			t.show.DurationFine(l.At), t.show.VolumeFine(l.Volume.Expected), levelOf(l, most, t.plan.RunDry.StopLevel),
			t.show.Temperature(l.Temperature), heatOf(l.Temperature, coldest, hottest, t.plan.Heat))
	}
	fmt.Fprintf(t.w, "%s\n\n", t.wrapped(fmt.Sprintf(
		"# sure to be there, = may be, | stop level %s; the bar ends at %s. o the fluid, w warm %s, h hot %s; the bar runs from %s to %s",
		t.show.VolumeFine(t.plan.RunDry.StopLevel), t.show.VolumeFine(most),
		t.show.Temperature(t.plan.Heat.Warm), t.show.Temperature(t.plan.Heat.Hot), t.show.Temperature(coldest), t.show.Temperature(hottest)), "  "))
}

// scaleOfLevels gives the volume at the end of the bars.
func scaleOfLevels(p planner.Plan) quantity.Volume {
	most := p.RunDry.StopLevel
	for _, l := range p.Levels {
		most = max(most, l.Volume.High)
	}
	return most
}

// scaleOfHeat gives the temperatures at the ends of the bars.
func scaleOfHeat(p planner.Plan) (coldest, hottest quantity.Temperature) {
	coldest, hottest = p.Levels[0].Temperature, p.Heat.Hot
	for _, l := range p.Levels {
		coldest, hottest = min(coldest, l.Temperature), max(hottest, l.Temperature)
	}
	return coldest, hottest
}

// cell gives the position of a value on a bar; from 0 to width−1.
func cell(x, from, to float64, width int) int {
	if to <= from {
		return 0
	}
	return min(width-1, max(0, int(math.Floor((x-from)/(to-from)*float64(width)))))
}

func levelOf(l planner.Level, most, stop quantity.Volume) string {
	bar := []byte(strings.Repeat(".", levelBar))
	filled := func(v quantity.Volume) int { return int(math.Round(float64(v) / float64(most) * levelBar)) }
	if most > 0 {
		for i := range filled(l.Volume.High) {
			bar[i] = '='
		}
		for i := range filled(l.Volume.Low) {
			bar[i] = '#'
		}
		bar[cell(float64(stop), 0, float64(most), levelBar)] = '|'
	}
	return string(bar)
}

func heatOf(t, coldest, hottest quantity.Temperature, h planner.Heat) string {
	bar := []byte(strings.Repeat(".", heatBar))
	at := func(t quantity.Temperature) int {
		return cell(t.Celsius(), coldest.Celsius(), hottest.Celsius(), heatBar)
	}
	for i := range at(t) {
		bar[i] = '-'
	}
	if h.Warm >= coldest {
		bar[at(h.Warm)] = 'w'
	}
	bar[at(h.Hot)] = 'h'
	bar[at(t)] = 'o'
	return string(bar)
}
