package idletest

import (
	"bufio"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// near fails where two numbers differ by more than a part of the wanted one.
func near(t *testing.T, what string, got, want, part float64) {
	t.Helper()
	if !(math.Abs(got-want) <= part*math.Max(math.Abs(want), 1e-12)) {
		t.Errorf("%s: got %.15g, want %.15g, off by %.2g", what, got, want, math.Abs(got-want)/math.Abs(want))
	}
}

// numbersIn reads a file of numbers, one or more a line.
func numbersIn(t *testing.T, text string) []float64 {
	t.Helper()
	var x []float64
	for _, field := range strings.Fields(text) {
		v, err := strconv.ParseFloat(field, 64)
		if err != nil {
			t.Fatal(err)
		}
		x = append(x, v)
	}
	return x
}

// accuracy builds the sets NumAcc2 to 4: a first value, then pairs about it.
func accuracy(base float64) []float64 {
	x := []float64{base + 0.2}
	for range 500 {
		x = append(x, base+0.1, base+0.3)
	}
	return x
}

// The certified values of the NIST Statistical Reference Datasets, univariate
// summary statistics, itl.nist.gov/div898/strd/univ. The tolerances leave room for
// what the inputs lose when they become binary.
func TestMomentsNIST(t *testing.T) {
	file, err := os.ReadFile("testdata/nist_univariate.txt")
	if err != nil {
		t.Fatal(err)
	}
	sets := map[string][]float64{
		"NumAcc1": {10000001, 10000003, 10000002},
		"NumAcc2": accuracy(1), "NumAcc3": accuracy(1000000), "NumAcc4": accuracy(10000000),
	}
	for _, block := range strings.Split(strings.TrimSpace(string(file)), "\n\n") {
		name, numbers, _ := strings.Cut(block, "\n")
		sets[strings.TrimPrefix(name, "# ")] = numbersIn(t, numbers)
	}
	for _, c := range []struct {
		set            string
		n              int
		mean, sd, lag1 float64
		tolSD, tolLag  float64
	}{
		{"Lew", 200, -177.435, 277.332168044316, -0.307304800605679, 1e-12, 1e-10},
		{"Lottery", 218, 518.958715596330, 291.699727470969, -0.120948622967393, 1e-12, 1e-10},
		{"Mavro", 50, 2.00185600000000, 0.000429123454003053, 0.937989183438248, 1e-11, 1e-10},
		{"Michelso", 100, 299.852400000000, 0.0790105478190518, 0.535199668621283, 1e-12, 1e-10},
		{"NumAcc1", 3, 10000002, 1, -0.5, 1e-12, 1e-10},
		{"NumAcc2", 1001, 1.2, 0.1, -0.999, 1e-12, 1e-10},
		{"NumAcc3", 1001, 1000000.2, 0.1, -0.999, 1e-8, 1e-7},
		{"NumAcc4", 1001, 10000000.2, 0.1, -0.999, 1e-7, 1e-7},
	} {
		m := MomentsOf(sets[c.set])
		if m.N != c.n {
			t.Errorf("%s: %d values, want %d", c.set, m.N, c.n)
		}
		near(t, c.set+" mean", m.Mean, c.mean, 1e-13)
		near(t, c.set+" sd", m.SD, c.sd, c.tolSD)
		near(t, c.set+" lag-1", m.Lag1, c.lag1, c.tolLag)
	}
}

// Zwiers & von Storch 1995, J. Climate 8; Wilks, Statistical Methods in the
// Atmospheric Sciences: n (1−r)/(1+r) for r > 0 only.
func TestEffectiveN(t *testing.T) {
	for _, c := range []struct {
		n       int
		r, want float64
	}{
		{100, 0.5, 33.3333},
		{120, 0.8, 13.3333},
		{60, 0.9, 3.15789},
		{100, 0.535199668621283, 30.27621}, // Michelso
		{50, 0.937989183438248, 1.599875},  // Mavro
		{200, -0.307304800605679, 200},     // Lew: negative, so all count
		{10, 0, 10},
	} {
		near(t, fmt.Sprint(c.n, c.r), EffectiveN(c.n, c.r), c.want, 1e-5)
	}
	near(t, "Mavro SE", math.Sqrt(VarianceOfMean(0.000429123454003053, EffectiveN(50, 0.937989183438248), 0)), 3.39265e-4, 1e-5)
	near(t, "Michelso SE", math.Sqrt(VarianceOfMean(0.0790105478190518, EffectiveN(100, 0.535199668621283), 0)), 0.01435933, 1e-6)
	// A coarse channel: the error of a step of 0.1 does not average out, 0.1²/12.
	near(t, "step", VarianceOfMean(0, 100, 0.1), 0.01/12, 1e-12)
}

// Student's sleep data (Biometrika 6, 1908). R's t.test gives t −1.8608, df 17.776,
// p 0.07939 for Welch's test.
var (
	sleep1 = []float64{0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0}
	sleep2 = []float64{1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4}
)

// welch is Welch's test of independent samples, out of the parts that the program has.
func welch(x, y []float64) (d, se, df float64) {
	a, b := MomentsOf(x), MomentsOf(y)
	va, vb := a.SD*a.SD/float64(a.N), b.SD*b.SD/float64(b.N)
	return a.Mean - b.Mean, math.Sqrt(va + vb), Satterthwaite([]float64{va, vb}, []float64{float64(a.N - 1), float64(b.N - 1)})
}

func TestWelch(t *testing.T) {
	d, se, df := welch(sleep1, sleep2)
	near(t, "t", d/se, -1.860813467, 1e-9)
	near(t, "df", df, 17.776474, 1e-7)
	near(t, "p", TwoSided(d/se, df), 0.0793941, 1e-6)
	q := quantile(0.975, df)
	near(t, "lower", d-q*se, -3.3654832, 1e-7)
	near(t, "upper", d+q*se, 0.2054832, 1e-6)

	// NIST/SEMATECH e-Handbook 1.3.5.3, AUTO83B, unequal variances.
	va, vb := 6.41470*6.41470/249, 6.10771*6.10771/79
	near(t, "handbook t", (20.14458-30.48101)/math.Sqrt(va+vb), -12.94627, 1e-6)
	near(t, "handbook df", Satterthwaite([]float64{va, vb}, []float64{248, 78}), 136.875, 1e-5)
}

// The differences of the same data, paired: t −4.0621, df 9, p 0.002833 (R).
func TestPairedT(t *testing.T) {
	var d []float64
	for i := range sleep1 {
		d = append(d, sleep1[i]-sleep2[i])
	}
	m := MomentsOf(d)
	se := m.SD / math.Sqrt(10)
	near(t, "t", m.Mean/se, -4.062127683, 1e-9)
	near(t, "p", TwoSided(m.Mean/se, 9), 0.00283289, 1e-6)
}

func TestQuantiles(t *testing.T) { // any table of Student's t
	for _, c := range []struct{ part, df, want float64 }{
		{0.975, 3, 3.18245},
		{0.975, 5, 2.57058},
		{0.975, 9, 2.26216},
		{0.975, 30, 2.04227},
		{0.95, 5, 2.01505},
		{0.95, 9, 1.83311},
		{0.975, 326, 1.9673},
	} {
		near(t, fmt.Sprint(c.part, c.df), quantile(c.part, c.df), c.want, 3e-5)
	}
}

// Holm 1979, Scand. J. Statist. 6; the second row is a widely used teaching example.
func TestHolm(t *testing.T) {
	for _, c := range []struct{ p, want []float64 }{
		{[]float64{0.01, 0.04, 0.03, 0.005}, []float64{0.03, 0.06, 0.06, 0.02}},
		{
			[]float64{0.0001, 0.0058, 0.0132, 0.0289, 0.0498, 0.0911, 0.2012, 0.5718, 0.8912},
			[]float64{0.0009, 0.0464, 0.0924, 0.1734, 0.2490, 0.3644, 0.6036, 1, 1},
		},
		{[]float64{0.02, 0.02, 0.02}, []float64{0.06, 0.06, 0.06}},
		{[]float64{0.5, 0.6}, []float64{1, 1}},
	} {
		for i, got := range Holm(c.p) {
			near(t, fmt.Sprint(c.p, i), got, c.want[i], 1e-12)
		}
	}
	if got := Holm(nil); len(got) != 0 {
		t.Errorf("of nothing %v", got)
	}
}

// Schuirmann 1987, J. Pharmacokin. Biopharm. 15, on the sleep data.
func TestEquivalence(t *testing.T) {
	d, se, df := welch(sleep1, sleep2)
	near(t, "Welch ±0.5", Equivalence(d, se, df, 0.5), 0.89011, 1e-5)
	paired := 1.229995483 / math.Sqrt(10)
	near(t, "paired ±0.5", Equivalence(-1.58, paired, 9, 0.5), 0.98924, 1e-5)
	near(t, "paired ±2.5", Equivalence(-1.58, paired, 9, 2.5), 0.0211169, 1e-5)
	near(t, "paired ±3.0", Equivalence(-1.58, paired, 9, 3.0), 0.0026556, 1e-4)
}

// table reads a CSV file of plain numbers with one header row, by column.
func table(t *testing.T, path string) map[string][]float64 {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	columns := map[string][]float64{}
	for _, row := range rows[1:] {
		for i, cell := range row {
			v, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				t.Fatal(err)
			}
			columns[rows[0][i]] = append(columns[rows[0][i]], v)
		}
	}
	return columns
}

// TestStatisticsProgram compares with what R 4.2.2 gives for four made-up tests;
// testdata/statref.R is what was run. It works on absolute values and without the
// resolution, so the same is done here.
func TestStatisticsProgram(t *testing.T) {
	file, err := os.Open("testdata/statref_R.tsv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	want := map[string]float64{}
	lines := bufio.NewScanner(file)
	for lines.Scan() {
		key, value, _ := strings.Cut(lines.Text(), "\t")
		if want[key], err = strconv.ParseFloat(value, 64); err != nil {
			t.Fatal(err)
		}
	}
	compared := 0
	check := func(key string, got float64) {
		t.Helper()
		w, ok := want[key]
		if !ok {
			t.Fatalf("no %s", key)
		}
		near(t, key, got, w, 1e-9)
		compared++
	}
	for _, state := range []string{"hot", "cold"} {
		before, after := table(t, "testdata/idle_"+state+"_before.csv"), table(t, "testdata/idle_"+state+"_after.csv")
		var plain, aware []float64
		for i := 1; i <= 6; i++ {
			column, key := fmt.Sprintf("corr%d_mm3_st", i), fmt.Sprintf("%s.cyl%d.", state, i)
			x, y := absolute(before[column]), absolute(after[column])
			mx, my := MomentsOf(x), MomentsOf(y)
			check(key+"mean_abs.before", mx.Mean)
			check(key+"mean_abs.after", my.Mean)
			check(key+"sd_abs.before", mx.SD)
			check(key+"sd_abs.after", my.SD)
			check(key+"lag1.before", mx.Lag1)
			check(key+"lag1.after", my.Lag1)
			nx, ny := EffectiveN(mx.N, mx.Lag1), EffectiveN(my.N, my.Lag1)
			check(key+"neff.before", nx)
			check(key+"neff.after", ny)
			vx, vy := VarianceOfMean(mx.SD, nx, 0), VarianceOfMean(my.SD, ny, 0)
			check(key+"ar1se.before", math.Sqrt(vx))
			check(key+"ar1se.after", math.Sqrt(vy))
			d, se, df := welch(x, y)
			check(key+"welch.t", d/se)
			check(key+"welch.df", df)
			check(key+"welch.p2", TwoSided(d/se, df))
			check(key+"tost025.p", Equivalence(d, se, df, 0.25))
			q := quantile(0.95, df)
			check(key+"ci90.lo", d-q*se)
			check(key+"ci90.hi", d+q*se)
			plain = append(plain, TwoSided(d/se, df))
			se = math.Sqrt(vx + vy)
			df = Satterthwaite([]float64{vx, vy}, []float64{nx - 1, ny - 1})
			check(key+"ar1welch.t", d/se)
			check(key+"ar1welch.df", df)
			check(key+"ar1welch.p2", TwoSided(d/se, df))
			aware = append(aware, TwoSided(d/se, df))
		}
		for i, p := range Holm(plain) {
			check(fmt.Sprintf("%s.cyl%d.holm_welch", state, i+1), p)
		}
		for i, p := range Holm(aware) {
			check(fmt.Sprintf("%s.cyl%d.holm_ar1welch", state, i+1), p)
		}
		slope, height := TheilSen(before["run_time_s"], before["load_pct"])
		check(state+".load.theilsen.slope", slope)
		check(state+".load.theilsen.icpt", height)
		d, se, df := welch(before["load_pct"], after["load_pct"])
		check(state+".load.welch.t", d/se)
		check(state+".load.welch.df", df)
		check(state+".load.welch.p2", TwoSided(d/se, df))
	}
	if compared != 262 {
		t.Errorf("%d values compared, want 262", compared)
	}
}

func absolute(x []float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = math.Abs(v)
	}
	return y
}

func TestStep(t *testing.T) {
	for _, c := range []struct {
		x    []float64
		want float64
	}{
		{[]float64{1, 1, 1}, 0},
		{[]float64{0.1, 0.3, 0.1, 0.2}, 0.1},
		{[]float64{-0.04, 0.04, 0.08}, 0.04},
		{nil, 0},
		{[]float64{0.1 + 0.2, 0.3, 0.5}, 0.2}, // equal but for the last bit
	} {
		if got := Step(c.x); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("Step(%v) = %v, want %v", c.x, got, c.want)
		}
	}
}
