package bay

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/google/go-cmp/cmp"

	"daytank/procedures/checklist"
	"daytank/procedures/store"
)

var update = flag.Bool("update", false, "write the screens anew")

// screens are those that are kept, each with how one comes to it.
var screens = []struct {
	name string
	set  []string
	come func(r *rig)
}{
	{name: "opening", come: func(*rig) {}},
	{name: "acknowledgement", come: func(r *rig) { r.untilKind(checklist.AskAcknowledge) }},
	{name: "tick", come: func(r *rig) { r.untilKind(checklist.AskTick) }},
	{name: "choice", come: func(r *rig) { r.untilStep("fuel-sample") }},
	{name: "number", come: func(r *rig) { r.untilStep("air-temperature") }},
	{name: "proof", come: func(r *rig) { r.untilStep("pump-dead").typed("2") }},
	{name: "refused", come: func(r *rig) { r.untilStep("pump-dead").line("yes") }},
	{name: "timer", come: func(r *rig) { r.untilKind(checklist.AskWait).pass(90 * time.Second) }},
	{name: "timer over", come: func(r *rig) { r.untilKind(checklist.AskWait).pass(20 * time.Minute) }},
	{name: "hold", come: func(r *rig) { r.untilKind(checklist.AskRelease) }},
	{name: "self-check", set: []string{"site.people=1"}, come: func(r *rig) { r.untilKind(checklist.AskSelfCheck) }},
	{name: "idle test", come: func(r *rig) { r.untilKind(checklist.AskTest) }},
	{name: "skipping", come: func(r *rig) { r.untilKind(checklist.AskTick).typed("s") }},
	{name: "blocked by a stop", come: func(r *rig) {
		r.untilStep("fuel-sample").line("water")
		r.untilKind(checklist.AskBlocked)
	}},
	{name: "baseline", come: func(r *rig) { r.untilPart(checklist.RunBaseline) }},
	{name: "run starts", come: func(r *rig) { r.untilPart(checklist.RunStart) }},
	{name: "live run", come: running},
	{name: "glance by key", come: func(r *rig) { running(r); r.typed("g") }},
	{name: "reading", come: func(r *rig) { running(r); r.typed("1320 2") }},
	{name: "look at the return", come: func(r *rig) { r.untilPart(checklist.RunFlow) }},
	{name: "soak begins", come: soaking},
	{name: "soak", come: func(r *rig) {
		soaking(r)
		r.planned()
		r.pass(5 * time.Minute)
	}},
	{name: "reading due", come: func(r *rig) {
		r.until("a reading due", func(a checklist.Ask) bool { return a.Run.Part == checklist.RunReading && a.Run.DueInMS <= 0 })
	}},
	{name: "change of stage", come: func(r *rig) { r.untilPart(checklist.RunStage) }},
	{name: "alarm", come: func(r *rig) {
		r.untilPart(checklist.RunReading).pass(30 * time.Second)
		r.line("1320 28")
		r.pass(30 * time.Second)
		r.line("600 31")
	}},
	{name: "switch off", come: func(r *rig) { r.untilPart(checklist.RunOff).press(tea.KeyDown) }},
	{name: "emergency", come: func(r *rig) { r.untilPart(checklist.RunReading).typed(" ") }},
	{name: "emergency cards", come: func(r *rig) {
		r.untilPart(checklist.RunReading).press(tea.KeyF1)
		r.press(tea.KeyEnter)
	}},
	{name: "leave safe", come: func(r *rig) { r.untilKind(checklist.AskTick).typed("p") }},
	{name: "help", come: func(r *rig) { r.untilStep("pump-dead").line("?") }},
}

func soaking(r *rig) {
	r.until("the soak", func(a checklist.Ask) bool { return a.Run.Part == checklist.RunReading && a.Run.Soak })
}

// running is in the second stage, a little after a reading.
func running(r *rig) {
	r.untilPart(checklist.RunStage).planned()
	for r.s.ask.Run.DueInMS > 0 || r.s.ask.Run.Part == checklist.RunFlow {
		r.planned()
	}
	r.planned()
	r.pass(12 * time.Second)
	for r.s.ask.Run.Part == checklist.RunFlow {
		r.planned()
	}
}

// sizes are those that the screens are kept at.
var sizes = []struct{ width, height int }{{80, 24}, {60, 20}, {40, 12}}

func TestScreens(t *testing.T) {
	for _, screen := range screens {
		t.Run(screen.name, func(t *testing.T) {
			r := newRig(t, store.OpenMemory(), screen.set...)
			screen.come(r)
			var b strings.Builder
			for _, size := range sizes {
				r.send(tea.WindowSizeMsg{Width: size.width, Height: size.height})
				fmt.Fprintf(&b, "%d x %d\n%s", size.width, size.height, framed(r.s.View(), size.width))
			}
			hold(t, strings.ReplaceAll(screen.name, " ", "-"), b.String())
		})
	}
}

// framed shows where a screen ends.
func framed(view string, width int) string {
	edge := "+" + strings.Repeat("-", width) + "+\n"
	var b strings.Builder
	b.WriteString(edge)
	for l := range strings.SplitSeq(view, "\n") {
		fmt.Fprintf(&b, "|%s|\n", padded(l, width))
	}
	return b.String() + edge
}

// hold holds a text against the one that is kept.
func hold(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("testdata", name+".txt")
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(got, "\n")); diff != "" {
		t.Errorf("%s differs; -update writes it anew:\n%s", file, diff)
	}
}

// Every kept screen belongs to a test.
func TestScreensAreAllTested(t *testing.T) {
	files, err := filepath.Glob("testdata/*.txt")
	if err != nil || len(files) != len(screens) {
		t.Errorf("%d kept screens, %d tested; %v", len(files), len(screens), err)
	}
}
