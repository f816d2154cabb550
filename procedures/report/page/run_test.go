package page

import (
	"strings"
	"testing"

	"daytank/procedures/report"
)

// The report and the customer's copy say the same of the run, by the record: of its 42:40,
// 15:10 were soak. Where no run is recorded the copy has what was planned, as planned.
func TestRunOfTheEngine(t *testing.T) {
	r := walked(t)
	all := pages(t, r)
	for _, name := range []string{"report", "customer"} {
		if want := "was cleaned on 2026-03-14 by Tobi Fenn: the engine ran on 1800 mL of cleaning fluid for 28 minutes, and 15 minutes of soak with the engine off."; !strings.Contains(all[name], want) {
			t.Errorf("the %s does not say %q", name, want)
		}
	}
	rows := func(as, engine string) string {
		return `<tr><th scope="row">engine running on it` + as + `</th><td class="n">` + engine + ` min</td></tr>
<tr><th scope="row">soak, engine off` + as + `</th><td class="n">15 min</td></tr>`
	}
	if want := rows("", "28"); !strings.Contains(all["customer"], want) {
		t.Errorf("the customer's copy has no rows %s", want)
	}
	r.Job.Ran = nil
	if want := rows(", as planned", "27"); !strings.Contains(pages(t, r)["customer"], want) {
		t.Errorf("without a run the customer's copy has no rows %s", want)
	}
}

// All entries have the day of the first, and of each that begins another.
func TestDaysOfEntries(t *testing.T) {
	r := walked(t)
	r.Job.Timeline = append(r.Job.Timeline, report.Line{Seq: 900, Day: "2026-11-20", At: "21:15:25"}, report.Line{Seq: 901, Day: "2026-11-20", At: "21:16:00"})
	r.Job.Alarms = append(r.Job.Alarms, report.Said{Day: "2026-11-20", At: "21:16:00", Text: "called"})
	got := pages(t, r)["report"]
	for _, want := range []string{
		`<td class="n">1</td><td>2026-03-14 09:00:00</td>`, `<td class="n">2</td><td>09:00:`,
		`<td class="n">900</td><td>2026-11-20 21:15:25</td>`, `<td class="n">901</td><td>21:16:00</td>`, "<li>2026-11-20 21:16:00 called</li>",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("no %s", want)
		}
	}
}
