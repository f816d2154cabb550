//go:build !race

package cli

import (
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"

	"daytank/procedures/record"
)

// The pages that the program writes, in a browser. It needs Debian's package chromium, and
// DAYTANK_NPM for the npm package axe-core, which judges what a page is to people who do
// not see it, or not well. With the flag -artifacts the pictures and prints stay.

// paper is what pages are printed on.
type paper struct {
	name          string
	width, height float64 // in
}

var papers = []paper{{"a4", 210 / 25.4, 297 / 25.4}, {"letter", 8.5, 11}}

// pageKind is a kind of page, and on how many sheets of paper it may go.
type pageKind struct {
	name, file  string
	least, most int
}

// The widths of a telephone, a tablet and a laptop.
var widths = []int64{360, 768, 1280}

var schemes = []string{"light", "dark"}

func TestPagesInABrowser(t *testing.T) {
	axe, err := os.ReadFile(npmFile(t, "axe-core/axe.min.js"))
	if err != nil {
		t.Fatal(err)
	}
	browser := openBrowser(t)
	folder := t.ArtifactDir()
	kinds := writePages(t)
	t.Run("pages", func(t *testing.T) { // together, since a tab has a process of its own
		for _, kind := range kinds {
			t.Run(kind.name, func(t *testing.T) {
				t.Parallel()
				stands(t, openTab(t, browser), kind, axe, folder)
			})
		}
	})
	t.Run("sheets", func(t *testing.T) { sheetsOfAllJobs(t, openTab(t, browser)) })
	t.Run("sorted and filtered", func(t *testing.T) { sortedAndFiltered(t, openTab(t, browser), kinds[len(kinds)-1].file) })
	t.Run("faults are seen", func(t *testing.T) { faultsAreSeen(t, openTab(t, browser), axe) })
}

// stands holds a page to everything, and leaves its pictures and prints in the folder.
func stands(t *testing.T, tab *browserTab, kind pageKind, axe []byte, folder string) {
	for _, scheme := range schemes {
		tab.open(t, kind.file, scheme)
		for _, width := range widths {
			tab.resize(t, width)
			if over := tab.tooWide(t); over != "" {
				t.Errorf("%s, %d px: %s", scheme, width, over)
			}
			tab.picture(t, filepath.Join(folder, fmt.Sprintf("%s-%s-%d.png", kind.name, scheme, width)))
		}
		if is := tab.ask(t, paperColour); is != scheme {
			t.Errorf("to who likes it %s it is %s", scheme, is)
		}
		for _, said := range tab.heard(t) {
			t.Errorf("%s: %s", scheme, said)
		}
	}
	for _, p := range papers {
		file := filepath.Join(folder, kind.name+"-"+p.name+".pdf")
		if n := tab.print(t, p, file); n < kind.least || n > kind.most {
			t.Errorf("%d pages of %s, want %d to %d", n, p.name, kind.least, kind.most)
		}
	}
	tab.install(t, axe)
	for i, scheme := range schemes { // contrast hangs on the scheme, room on the width: each of them once
		tab.prefer(t, scheme)
		tab.resize(t, widths[2*i])
		for _, v := range tab.violations(t) {
			t.Errorf("%s, %d px: %s", scheme, widths[2*i], v)
		}
	}
}

// writePages writes one of each kind by the program's own commands, the index last.
func writePages(t *testing.T) []pageKind {
	t.Helper()
	dir := t.TempDir()
	o := office{home: dir, environ: []string{"DAYTANK_SHOP=Harbour workshop", "DAYTANK_EMERGENCY_NUMBER=0112"}}
	van := exported(t, vanRecord)
	records := []string{vanRecord, filepath.Join(root, "testdata", "records", "pickup.jsonl")}
	for i, asset := range []string{"BOAT-02", "CRANE-11", "MAIL-05"} {
		var more []record.Body
		for n := range 4 * i {
			more = append(more, record.Deviation{Step: "gloves-on", Text: fmt.Sprintf("glove %d had a hole", n+1)})
		}
		told := retold(t, van, uuid.UUID{6: 0x70, 8: 0x80, 15: byte(i + 1)}, func(by string) string { return by }, func(b record.Body) record.Body {
			if c, ok := b.(record.Created); ok {
				c.Asset = asset
				return c
			}
			return b
		}, more...)
		records = append(records, written(t, told, filepath.Join(dir, asset+".jsonl")))
	}
	o.done(t, append([]string{"import"}, records...)...)
	for _, test := range []struct{ log, phase, day string }{
		{"van-before-hot", "--before", "2026-03-13"},
		{"van-before-cold", "--before", "2026-03-13"},
		{"van-after-hot", "--after", "2026-03-21"},
		{"van-after-cold", "--after", "2026-03-21"},
	} {
		o.done(t, "test", "add", "VAN-07/1", filepath.Join(logFolder, test.log+".csv"), test.phase, "--on", test.day, "--ambient", "11 °C", "--condition", "gear=neutral", "--operator", "Mara Quill")
	}
	in := func(name string) string { return filepath.Join(dir, name) }
	o.done(t, "report", "VAN-07/1", "--to", in("report.html"))
	o.done(t, "report", "VAN-07/1", "--for", "customer", "--to", in("customer.html"))
	o.done(t, "plan", vanFile, "--sheet", in("sheet.html"))
	o.done(t, "report", "--all", in("all"))
	return []pageKind{
		{"report", in("report.html"), 2, 24},
		{"customer", in("customer.html"), 1, 1},
		{"sheet", in("sheet.html"), 1, 2},
		{"index", in("all/index.html"), 1, 1},
	}
}

// tabTime is how long anything in a tab may take.
const tabTime = 3 * time.Minute

// paperColour tells whether a page is light or dark.
const paperColour = `getComputedStyle(document.body).backgroundColor.match(/\d+/g).reduce((sum, part) => sum + Number(part), 0) > 382 ? "light" : "dark"`

// longestPicture is how much of a page is drawn, in px.
const longestPicture = 12_000

// sheetOfPrint is a page among the objects of a PDF, which the browser does not compress.
var sheetOfPrint = regexp.MustCompile(`/Type\s*/Page\b`)

// sheetsOfAllJobs holds that the sheet of every layout is one sheet of paper, printed on both
// sides.
func sheetsOfAllJobs(t *testing.T, tab *browserTab) {
	dir := t.TempDir()
	jobs, err := filepath.Glob(filepath.Join(root, "testdata", "jobs", "*.yaml"))
	if err != nil || len(jobs) < 8 {
		t.Fatalf("%d jobs, %v", len(jobs), err)
	}
	for _, job := range jobs {
		name := strings.TrimSuffix(filepath.Base(job), ".yaml")
		if name == "six-mistakes" {
			continue
		}
		file := filepath.Join(dir, name+".html")
		office{home: dir}.done(t, "plan", job, "--sheet", file)
		tab.open(t, file, "light")
		if n := tab.print(t, papers[1], filepath.Join(dir, name+".pdf")); n > 2 {
			t.Errorf("%s: %d pages", name, n)
		}
	}
}

// sortedAndFiltered holds what the script of the index does, and that the index is whole
// without it.
func sortedAndFiltered(t *testing.T, tab *browserTab, file string) {
	tab.open(t, file, "light")
	tab.resize(t, 1280)
	column := func(n int) []string {
		return strings.Split(tab.ask(t, fmt.Sprintf(`[...document.querySelectorAll("tbody tr")].filter(r => r.getClientRects().length > 0).map(r => r.cells[%d].textContent).join("\n")`, n)), "\n")
	}
	sorted := func(n int) string {
		return tab.ask(t, fmt.Sprintf(`[...document.querySelectorAll("th")].map(h => h.getAttribute("aria-sort") || "-").map((s, n) => n == %d ? s : s == "-" ? "" : "also " + s).join("")`, n))
	}
	press := func(n int) { tab.do(t, chromedp.Click(chromedp.CSS(fmt.Sprintf("th:nth-child(%d) button", n+1)))) }
	const asset, points = 1, 6
	byName := []string{"BOAT-02", "CRANE-11", "MAIL-05", "PICK-04", "VAN-07"}
	for _, step := range []struct {
		column int
		is     string
	}{{asset, "ascending"}, {asset, "descending"}, {points, "ascending"}, {points, "descending"}} {
		press(step.column)
		if got := sorted(step.column); got != step.is {
			t.Errorf("column %d is %q, want %s", step.column, got, step.is)
		}
		got := column(step.column)
		if step.is == "descending" {
			slices.Reverse(got)
		}
		want := byName
		if step.column == points {
			want = slices.Clone(got)
			slices.SortFunc(want, func(a, b string) int { return number(t, a) - number(t, b) })
			if slices.IsSorted(want) {
				t.Errorf("%v: as words in the same order as as numbers, which shows nothing", want)
			}
		}
		if diff := cmp.Diff(want, got); diff != "" || len(got) != len(byName) {
			t.Errorf("column %d %s (-want +got):\n%s", step.column, step.is, diff)
		}
	}
	choose := func(n int, value string) {
		tab.ask(t, fmt.Sprintf(`(() => { const box = document.querySelector("select[data-column='%d']"); box.value = %q; box.dispatchEvent(new Event("change")); return box.value })()`, n, value))
	}
	choose(asset, "CRANE-11")
	if got := column(asset); !slices.Equal(got, []string{"CRANE-11"}) {
		t.Errorf("one asset chosen: %v", got)
	}
	choose(asset, "all")
	if got := column(asset); len(got) != len(byName) {
		t.Errorf("all chosen: %v", got)
	}
	if got := tab.heard(t); len(got) > 0 {
		t.Error(got)
	}

	call(t, tab, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	tab.open(t, file, "light")
	got := column(asset)
	slices.Sort(got)
	if diff := cmp.Diff(byName, got); diff != "" {
		t.Errorf("without its script (-want +got):\n%s", diff)
	}
	if shown := tab.ask(t, `String(document.querySelector("form").getClientRects().length)`); shown != "0" {
		t.Error("without the script there are boxes that do nothing")
	}
}

func number(t *testing.T, text string) int {
	t.Helper()
	n, err := strconv.Atoi(text)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// faultsAreSeen holds that what the pages are held to is seen where a page does not keep it.
func faultsAreSeen(t *testing.T, tab *browserTab, axe []byte) {
	file := filepath.Join(t.TempDir(), "bad.html")
	bad := `<!doctype html><html><head><meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; script-src 'sha256-%s'">
<title>bad</title></head><body><p style="width:2000px;color:#999;background:#aaa">pale</p><img src="beside.png"><script>%s</script><script>alert(1)</script></body></html>`
	script := `console.error("bad"); throw new Error("worse")`
	sum := sha256.Sum256([]byte(script))
	if err := os.WriteFile(file, fmt.Appendf(nil, bad, base64.StdEncoding.EncodeToString(sum[:]), script), 0o644); err != nil {
		t.Fatal(err)
	}
	tab.open(t, file, "light")
	tab.resize(t, 360)
	if tab.tooWide(t) == "" {
		t.Error("a wide page is not seen")
	}
	all := strings.Join(tab.heard(t), "\n")
	for _, want := range []string{"console error", "uncaught: ", "Content Security Policy", "beside.png"} {
		if !strings.Contains(all, want) {
			t.Errorf("%s is not heard in:\n%s", want, all)
		}
	}
	tab.install(t, axe)
	all = strings.Join(tab.violations(t), "\n")
	for _, want := range []string{"color-contrast", "image-alt", "html-has-lang"} {
		if !strings.Contains(all, want) {
			t.Errorf("%s is not found in:\n%s", want, all)
		}
	}
}
