//go:build unix

package bay

import (
	"runtime"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"daytank/procedures/checklist"
	"daytank/procedures/store"
)

// An hour of a live run, looked at and drawn every second, with every reading taken:
// under 3 % of a core and 40 MiB.
func TestCostOfAnHour(t *testing.T) {
	kept, err := store.OpenSQLite(t.Context(), t.TempDir()+"/records.db")
	if err != nil {
		t.Fatal(err)
	}
	defer kept.Close()
	r := newRig(t, kept, "run=[{speed: idle, for: 70 min}]", "rig.charge=3.6 L", "rig.container={capacity: 5 L, diameter: 150 mm, pickup_height: 10 mm, pickup_bore: 8 mm, closed: true}")
	r.untilPart(checklist.RunReading)
	before := cpu(t)
	drawn, most := 0, uint64(0)
	seconds := 3600
	if raceDetector { // which costs more than the screen
		seconds = 60
	}
	for i := range seconds {
		r.pass(time.Second)
		drawn += len(r.s.View())
		if r.s.alarm.loud() || r.s.ask.Run.DueInMS <= 0 || r.s.ask.Run.Part == checklist.RunFlow {
			r.planned()
		}
		if i%300 == 299 {
			var m runtime.MemStats
			runtime.ReadMemStats(&m)
			most = max(most, m.Sys-m.HeapReleased)
		}
	}
	spent := cpu(t) - before
	if raceDetector {
		return
	}
	if a := r.s.ask; a.Run.Part != checklist.RunReading || a.Run.ElapsedMS < 3600*1000 || len(r.s.Sitting.State().Readings()) < 14 {
		t.Fatalf("after an hour: %s, %d ms, %d readings", a.Run.Part, a.Run.ElapsedMS, len(r.s.Sitting.State().Readings()))
	}
	if share := spent.Seconds() / 3600; share > 0.03 {
		t.Errorf("%.1f %% of a core", 100*share)
	}
	if most > 40<<20 {
		t.Errorf("%d MiB", most>>20)
	}
	t.Logf("an hour of the run: %.2f s of a core (%.2f %%), %d MiB, %d bytes drawn, %d readings", spent.Seconds(), spent.Seconds()/36, most>>20, drawn, len(r.s.Sitting.State().Readings()))
}

// cpu gives the time of the processor that this process has used.
func cpu(t *testing.T) time.Duration {
	t.Helper()
	var used unix.Rusage
	if err := unix.Getrusage(unix.RUSAGE_SELF, &used); err != nil {
		t.Fatal(err)
	}
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}
