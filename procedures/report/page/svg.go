package page

import (
	"fmt"
	"html"
	"html/template"
	"math"
	"strconv"
	"strings"

	"daytank/planner/quantity"
)

// figure is one picture: an area with two axes, drawn into by its methods, with a title and
// a description for those who cannot see it.
type figure struct {
	title, desc   string
	width, height float64
	left, bottom  float64 // room for the axes' words
	x, y          axis
	body          strings.Builder
}

// axis is a range of numbers along an edge.
type axis struct {
	from, to float64
	unit     string
}

// edge is the room at the top and at the right, in the units of the picture: that of a line
// of words.
const edge = 18

func newFigure(title, desc string, width, height float64, x, y axis) *figure {
	return &figure{title: title, desc: desc, width: width, height: height, left: 56, bottom: 34, x: x, y: y}
}

// around gives an axis that holds all the numbers, with a little room.
func around(unit string, numbers ...float64) axis {
	low, high := math.Inf(1), math.Inf(-1)
	for _, n := range numbers {
		if !math.IsNaN(n) && !math.IsInf(n, 0) {
			low, high = math.Min(low, n), math.Max(high, n)
		}
	}
	if low > high {
		low, high = 0, 1
	}
	room := (high - low) * 0.06
	if room == 0 {
		room = 1
	}
	return axis{low - room, high + room, unit}
}

// number writes a coordinate: two decimals are finer than any eye. Zero has no sign.
func number(x float64) string { return strconv.FormatFloat(math.Round(x*100)/100+0, 'f', -1, 64) }

func (f *figure) px(x float64) float64 {
	return f.left + (x-f.x.from)/(f.x.to-f.x.from)*(f.width-f.left-edge)
}

func (f *figure) py(y float64) float64 {
	return f.height - f.bottom - (y-f.y.from)/(f.y.to-f.y.from)*(f.height-f.bottom-edge)
}

func (f *figure) points(xs, ys []float64) string {
	var b strings.Builder
	for i := range xs {
		if math.IsNaN(ys[i]) {
			continue
		}
		if b.Len() > 0 {
			b.WriteByte(' ')
		}
		b.WriteString(number(f.px(xs[i])) + "," + number(f.py(ys[i])))
	}
	return b.String()
}

// line draws a line through points; class says what it is.
func (f *figure) line(class string, xs, ys []float64) {
	fmt.Fprintf(&f.body, `<polyline class="%s" points="%s"/>`, class, f.points(xs, ys))
}

// band fills what lies between two lines.
func (f *figure) band(xs, low, high []float64) {
	back, down := make([]float64, len(xs)), make([]float64, len(xs))
	for i := range xs {
		back[i], down[i] = xs[len(xs)-1-i], low[len(xs)-1-i]
	}
	fmt.Fprintf(&f.body, `<polygon class="band" points="%s %s"/>`, f.points(xs, high), f.points(back, down))
}

// dots marks points.
func (f *figure) dots(class string, xs, ys []float64) {
	for i := range xs {
		if !math.IsNaN(ys[i]) {
			fmt.Fprintf(&f.body, `<circle class="%s" cx="%s" cy="%s" r="3.5"/>`, class, number(f.px(xs[i])), number(f.py(ys[i])))
		}
	}
}

// level draws a line across at a height, with its name.
func (f *figure) level(class string, y float64, name string) {
	if y < f.y.from || y > f.y.to {
		return
	}
	at := number(f.py(y))
	fmt.Fprintf(&f.body, `<line class="%s" x1="%s" x2="%s" y1="%s" y2="%s"/>`, class, number(f.left), number(f.width-edge), at, at)
	fmt.Fprintf(&f.body, `<text class="name" x="%s" y="%s" text-anchor="end">%s</text>`, number(f.width-edge-2), number(f.py(y)-4), html.EscapeString(name))
}

// upright draws a line from top to bottom, with its name at the top.
func (f *figure) upright(class string, x float64, name string) {
	if x < f.x.from || x > f.x.to {
		return
	}
	at := number(f.px(x))
	fmt.Fprintf(&f.body, `<line class="%s" x1="%s" x2="%s" y1="%s" y2="%s"/>`, class, at, at, number(edge), number(f.height-f.bottom))
	if name != "" {
		fmt.Fprintf(&f.body, `<text class="name" x="%s" y="%s" text-anchor="middle">%s</text>`, at, number(edge-4), html.EscapeString(name))
	}
}

// bar draws a bar from one number to another in a row of its own.
func (f *figure) bar(class string, from, to, top, height float64) {
	a, b := f.px(math.Min(from, to)), f.px(math.Max(from, to))
	fmt.Fprintf(&f.body, `<rect class="%s" x="%s" y="%s" width="%s" height="%s"/>`, class, number(a), number(top), number(math.Max(b-a, 0.5)), number(height))
}

// text writes words at a place of the picture.
func (f *figure) text(class string, x, y float64, anchor, words string) {
	fmt.Fprintf(&f.body, `<text class="%s" x="%s" y="%s" text-anchor="%s">%s</text>`, class, number(x), number(y), anchor, html.EscapeString(words))
}

// step gives a round distance between marks of an axis, for some five of them.
func (a axis) step() float64 {
	rough := (a.to - a.from) / 5
	power := math.Pow(10, math.Floor(math.Log10(rough)))
	for _, times := range []float64{1, 2, 5, 10} {
		if times*power >= rough {
			return times * power
		}
	}
	return 10 * power
}

func (a axis) marks() []float64 {
	var all []float64
	step := a.step()
	for k := math.Ceil(a.from / step); k*step <= a.to && len(all) < 20; k++ {
		all = append(all, k*step)
	}
	return all
}

// svg gives the picture; axes says which of them are drawn.
func (f *figure) svg(axes string, show quantity.Printer) template.HTML {
	mark := func(x float64) string { return show.Sprintf("%v", math.Round(x*100)/100+0) }
	var b strings.Builder
	fmt.Fprintf(&b, `<svg viewBox="0 0 %s %s" role="img"><title>%s</title><desc>%s</desc>`,
		number(f.width), number(f.height), html.EscapeString(f.title), html.EscapeString(f.desc))
	if strings.Contains(axes, "y") {
		for _, m := range f.y.marks() {
			at := number(f.py(m))
			fmt.Fprintf(&b, `<line class="grid" x1="%s" x2="%s" y1="%s" y2="%s"/><text x="%s" y="%s" text-anchor="end">%s</text>`,
				number(f.left), number(f.width-edge), at, at, number(f.left-6), number(f.py(m)+4), mark(m))
		}
		fmt.Fprintf(&b, `<text class="unit" x="2" y="%s">%s</text>`, number(edge/2), html.EscapeString(f.y.unit))
	}
	if strings.Contains(axes, "x") {
		for _, m := range f.x.marks() {
			at := number(f.px(m))
			fmt.Fprintf(&b, `<line class="grid" x1="%s" x2="%s" y1="%s" y2="%s"/><text x="%s" y="%s" text-anchor="middle">%s</text>`,
				at, at, number(edge), number(f.height-f.bottom), at, number(f.height-f.bottom+16), mark(m))
		}
		fmt.Fprintf(&b, `<text class="unit" x="%s" y="%s" text-anchor="end">%s</text>`, number(f.width-edge), number(f.height-4), html.EscapeString(f.x.unit))
	}
	b.WriteString(f.body.String())
	b.WriteString(`</svg>`)
	return template.HTML(b.String()) // made here, of numbers and of words that were escaped
}
