package library_test

import (
	"encoding/csv"
	"maps"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat"

	"counterpoise/mechanics/balance"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/testdata"
	"counterpoise/worksheets/library"
)

// The keys of stopwatch-and-film by a second route: means, scatters and lines by
// gonum's stat from the published files; uncertainties from slopes by
// differences, in squares (GUM, JCGM 100:2008, 5.1.2, from memory, unchecked);
// gravity by asking package balance for the period again.
func TestStopwatchAndFilmKeysBySecondRoute(t *testing.T) {
	hundred := columns(t, "pendulum-100-cycles", "pendulum-100-cycles.csv")[0]
	mean, deviation := stat.MeanStdDev(hundred, nil)
	rod := columns(t, "rod-pendulum", "rod-pendulum-distance-period.csv")
	twelveA, twelveB := rodLine(rod[0][1:], rod[1][1:])
	stated, widened := washington(t)
	checkKeys(t, "stopwatch-and-film", []map[string]string{
		{"u": "50 ms", "n": "15", "r": "4", "p": "1.2 s", "F": "30 Hz"},
		{"u": "120 ms", "n": "30", "r": "8", "p": "0.8 s", "F": "120 Hz"},
	}, func(t *testing.T, v map[string]float64) map[string]route {
		runs := func(u, n float64, r int) float64 { // mean period of r runs, each stop less start
			return spread(func(x []float64) float64 {
				sum := 0.0
				for i := 0; i < len(x); i += 2 {
					sum += x[i+1] - x[i]
				}
				return sum / n / float64(r)
			}, make([]float64, 2*r), slices.Repeat([]float64{u}, 2*r))
		}
		T := mean / 100
		at := map[string]float64{"u_l": 0.002, "u_T": 0.003, "T": 1.9, "n_1": 12, "n_2": 40, "t_1": 0.37 + 12*0.9, "t_2": 0.37 + 40*0.9, "mean_period": T}
		maps.Copy(v, at)
		gravity := func(x []float64) float64 { return 4 * math.Pi * math.Pi * x[0] / (x[1] * x[1]) }
		return map[string]route{
			"one-run":      {value: runs(v["u"], v["n"], 1), within: 1e-8},
			"several-runs": {value: runs(v["u"], v["n"], int(v["r"])), within: 1e-8},
			"how-many":     {value: border(func(n float64) bool { return runs(v["u"], n, 1) <= v["q"]*v["p"] }, 1, 1000), within: 1e-8},
			"film":         {value: runs(0.3/v["F"], v["n"], 1), within: 1e-8},
			// A key that is typed as a number is good to its last figure.
			"mean-period":      {value: T, within: 1e-6},
			"mean-uncertainty": {value: deviation / math.Sqrt(float64(len(hundred))) / 100, within: 1e-4},
			"gravity-number":   {value: border(func(g float64) bool { return threadPeriod(t, v["l"], g) < T }, 9, 11), within: 1e-7},
			"gravity-uncertainty": {value: spread(gravity, []float64{v["l"], at["T"]}, []float64{at["u_l"], at["u_T"]}) /
				gravity([]float64{v["l"], at["T"]}), within: 1e-6},
			"derive-line":   {test: "TestStopwatchAndFilmLineBySecondRoute"},
			"from-the-line": {test: "TestStopwatchAndFilmLineBySecondRoute"},
			// The uncertainty at which the same residuals give a chi-squared of 7.
			"widen":          {value: border(func(w float64) bool { return 21.28*math.Pow(5.9e-6/w, 2) < 7 }, 1e-6, 1e-4), letters: map[string]float64{"w": 5.9e-6, "C": 21.28, "ν": 7}, within: 1e-8},
			"rod-gravity":    {value: 4 * math.Pi * math.Pi / twelveB, within: 1e-6},
			"rod-inertia":    {value: 0.465 * twelveA / twelveB, within: 1e-5},
			"two-runs":       {value: 0.9, within: 1e-9},
			"widened-number": {value: widened, within: 2e-4},
		}
	})
	// The stated uncertainty, and how it is widened: check value K5, computed.
	testdata.Agrees(t, stated*1e5, "0.590")
	if got := stated * math.Sqrt(21.28/7); math.Abs(got-widened) > 1e-3*widened {
		t.Errorf("widen: key %v, second route %v", got, widened)
	}
}

// The line through the readings of a hung rod: periods that package balance
// computes lie on it, and its slope and intercept give back what was put in.
func TestStopwatchAndFilmLineBySecondRoute(t *testing.T) {
	const g, k = 9.7, 0.21
	var distances, periods []float64
	for d := 0.05; d < 0.36; d += 0.05 {
		p := balance.Pendulum{Mass: 0.4, Drop: d, Inertia: 0.4 * (k*k + d*d)}
		T, err := p.Period(1e-5, g)
		if err != nil {
			t.Fatal(err)
		}
		distances, periods = append(distances, d), append(periods, T)
	}
	s, err := library.Read("stopwatch-and-film")
	if err != nil {
		t.Fatal(err)
	}
	a, b := rodLine(distances, periods)
	for _, q := range s.Questions() {
		switch q.Name {
		case "derive-line":
			readings, err := parse.Readings(q.Target, parse.Options{Symbols: []string{"T", "d", "k", "g"}})
			if err != nil {
				t.Fatal(err)
			}
			for i := range distances {
				at := map[string]float64{"d": distances[i], "T": periods[i], "k": k, "g": g}
				left, err := readings[0].Sides[0].Eval(at)
				if err != nil {
					t.Fatal(err)
				}
				right, err := readings[0].Sides[1].Eval(at)
				if err != nil {
					t.Fatal(err)
				}
				if math.Abs(left-right) > 1e-8*left {
					t.Errorf("derive-line at %v m: %v and %v", distances[i], left, right)
				}
			}
		case "from-the-line":
			first, second, _ := strings.Cut(q.Key[1:len(q.Key)-1], ",")
			for text, want := range map[string]float64{first: g, second: k} {
				e, err := parse.Parse(text, parse.Options{Symbols: []string{"a", "b"}})
				if err != nil {
					t.Fatal(err)
				}
				got, err := e.Eval(map[string]float64{"a": a, "b": b})
				if err != nil {
					t.Fatal(err)
				}
				if math.Abs(got-want) > 1e-8*want {
					t.Errorf("from-the-line: %s is %v, put in %v", text, got, want)
				}
			}
		}
	}
}

// The numbers typed into the sheet are those of the published files.
func TestStopwatchAndFilmDataAreThePublished(t *testing.T) {
	s, err := library.Read("stopwatch-and-film")
	if err != nil {
		t.Fatal(err)
	}
	rod := columns(t, "rod-pendulum", "rod-pendulum-distance-period.csv")
	want := map[string][]float64{
		"hundred":   columns(t, "pendulum-100-cycles", "pendulum-100-cycles.csv")[0],
		"distances": rod[0],
		"periods":   rod[1],
		"series":    columns(t, "gravity-reversible-pendulum", "gravity-reversible-pendulum.csv")[1],
	}
	number := regexp.MustCompile(`\d+(\.\d+)?`)
	for name, published := range want {
		declared := regexp.MustCompile(`(?m)^` + name + ` := (\[\])+float64\{((?s:.*?))\}$`)
		var typed []float64
		for _, c := range s.Cells {
			found := declared.FindStringSubmatch(c.Text)
			if found == nil {
				continue
			}
			for _, text := range number.FindAllString(found[2], -1) {
				x, err := strconv.ParseFloat(text, 64)
				if err != nil {
					t.Fatal(err)
				}
				typed = append(typed, x)
			}
		}
		if !slices.Equal(typed, published) {
			t.Errorf("%s: typed %v, published %v", name, typed, published)
		}
	}
}

// columns reads the columns of a published table of numbers with one line of
// names.
func columns(t *testing.T, folder, file string) [][]float64 {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(string(testdata.Read(t, folder, file)))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := make([][]float64, len(rows[0]))
	for _, row := range rows[1:] {
		for i, text := range row {
			x, err := strconv.ParseFloat(text, 64)
			if err != nil {
				t.Fatal(err)
			}
			out[i] = append(out[i], x)
		}
	}
	return out
}

// rodLine lays d T² = a + b d² through readings.
func rodLine(distances, periods []float64) (a, b float64) {
	var x, y []float64
	for i, d := range distances {
		x, y = append(x, d*d), append(y, d*periods[i]*periods[i])
	}
	return stat.LinearRegression(x, y, nil, false)
}

// washington returns the uncertainty of the weighted mean of the eight series as
// stated, and widened until chi-squared is as large as its degrees of freedom,
// by search; both in m/s².
func washington(t *testing.T) (stated, widened float64) {
	t.Helper()
	table := columns(t, "gravity-reversible-pendulum", "gravity-reversible-pendulum.csv")
	series := map[float64][]float64{}
	for i, s := range table[0] {
		series[s] = append(series[s], table[1][i]*1e-5)
	}
	var means, weights []float64
	total := 0.0
	for _, s := range slices.Sorted(maps.Keys(series)) {
		m, sd := stat.MeanStdDev(series[s], nil)
		w := float64(len(series[s])) / (sd * sd)
		means, weights, total = append(means, m), append(weights, w), total+w
	}
	centre := stat.Mean(means, weights)
	factor := border(func(f float64) bool {
		chi := 0.0
		for i, m := range means {
			chi += (m - centre) * (m - centre) * weights[i] / (f * f)
		}
		return chi < float64(len(means)-1)
	}, 0.1, 10)
	return 1 / math.Sqrt(total), factor / math.Sqrt(total)
}

// spread is the uncertainty of f from those of what goes in, independent of each
// other: slopes by differences, added in squares.
func spread(f func(x []float64) float64, x, u []float64) float64 {
	sum := 0.0
	for i := range x {
		h := 1e-3 * u[i]
		up, down := slices.Clone(x), slices.Clone(x)
		up[i], down[i] = x[i]+h, x[i]-h
		slope := (f(up) - f(down)) / (2 * h)
		sum += slope * u[i] * slope * u[i]
	}
	return math.Sqrt(sum)
}

// threadPeriod is the period of a point on a thread at a very small swing.
func threadPeriod(t *testing.T, length, g float64) float64 {
	t.Helper()
	T, err := (balance.Pendulum{Mass: 1, Drop: length, Inertia: length * length}).Period(1e-5, g)
	if err != nil {
		t.Fatal(err)
	}
	return T
}
