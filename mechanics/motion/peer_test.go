package motion_test

import (
	"bufio"
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"counterpoise/mechanics/motion"
)

// peers is the folder with the peers' sources; the developers' notes say what
// is in it and which packages they need.
var peers = flag.String("peers", "", "folder of the integration peers, to measure beside them")

// python runs the SciPy peer.
var python = flag.String("python", "/usr/bin/python3", "the Python that has SciPy, for -peers")

// A point is one run at one tolerance.
type point struct {
	seconds, wrong float64
}

// reach returns the time to reach an error, interpolated between the runs of
// falling tolerance in the logarithms of both; infinite if none reaches it.
func reach(runs []point, goal float64) float64 {
	for i, r := range runs {
		if !(r.wrong <= goal) {
			continue
		}
		if i == 0 || r.wrong == 0 || !(runs[i-1].wrong > goal) || math.IsInf(runs[i-1].wrong, 0) {
			return r.seconds
		}
		q := runs[i-1]
		f := math.Log(q.wrong/goal) / math.Log(q.wrong/r.wrong)
		return math.Exp(math.Log(q.seconds)*(1-f) + math.Log(r.seconds)*f)
	}
	return math.Inf(1)
}

// build compiles a C++ peer.
func build(t *testing.T, dir, name string, arguments ...string) string {
	t.Helper()
	exe := filepath.Join(dir, name)
	c := exec.Command("g++", append([]string{"-O3", "-march=native", "-std=c++17", "-I" + dir, "-o", exe, filepath.Join(*peers, name+".cpp")}, arguments...)...)
	if out, err := c.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return exe
}

// measured runs a peer and returns its runs by peer's name.
func measured(t *testing.T, p problem, command ...string) map[string][]point {
	t.Helper()
	out, err := exec.Command(command[0], append(command[1:], p.name)...).Output()
	if err != nil {
		t.Fatal(err)
	}
	runs := map[string][]point{}
	lines := bufio.NewScanner(bytes.NewReader(out))
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		var line struct {
			Peer string
			OK   bool
			Wall float64 `json:"wall_s"`
			Y    []float64
		}
		if err := json.Unmarshal(lines.Bytes(), &line); err != nil {
			t.Fatalf("%v in %s", err, lines.Text())
		}
		r := point{line.Wall, math.Inf(1)}
		if line.OK {
			r.wrong = p.wrong(line.Y)
		}
		runs[line.Peer] = append(runs[line.Peer], r)
	}
	return runs
}

// own measures this package at falling tolerances: the median of some runs.
func own(t *testing.T, p problem, s motion.System) []point {
	t.Helper()
	var runs []point
	for e := 4; e <= 14; e++ {
		tol := math.Pow(10, -float64(e))
		seconds, run := median(t, p, s, motion.Options{Relative: tol, Absolute: tol, EndOnly: true, Unchecked: true})
		runs = append(runs, point{seconds, p.wrong(run.End())})
	}
	return runs
}

func median(t *testing.T, p problem, s motion.System, o motion.Options) (float64, *motion.Run) {
	t.Helper()
	var times []float64
	var run *motion.Run
	for spent := 0.0; len(times) < 5 || spent < 0.12 && len(times) < 500; {
		start := time.Now()
		r, err := motion.Solve(s, p.start, 0, p.end, o)
		d := time.Since(start).Seconds()
		if err != nil {
			t.Fatalf("%s: %v", p.name, err)
		}
		run = r
		times = append(times, d)
		spent += d
	}
	slices.Sort(times)
	return times[len(times)/2], run
}

// TestTimeBesidePeers prints the time to an error of 1e-6 and 1e-9 here, from
// expressions, and of the peers, all now. It asserts nothing about time.
//
// Bars: 1/80 of SciPy's DOP853 on the first five problems, 1/20 on the
// Pleiades; against the fastest C++ program a geometric mean of 2.5, none above
// 3 (Pleiades 6); the stiff one twice GSL's bsimp.
func TestTimeBesidePeers(t *testing.T) {
	if *peers == "" {
		t.Skip("give -peers FOLDER to measure")
	}
	dir := t.TempDir()
	if out, err := exec.Command(*python, filepath.Join(*peers, "gen_dop853.py"), filepath.Join(dir, "dop853_coef.h")).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	for _, header := range []string{"bench.hpp", "problems.hpp"} {
		if _, err := os.Stat(filepath.Join(*peers, header)); err != nil {
			t.Fatal(err)
		}
	}
	sundials := strings.Fields("-lsundials_cvode -lsundials_arkode -lsundials_nvecserial -lsundials_sunmatrixdense -lsundials_sunlinsoldense -lsundials_sunnonlinsolfixedpoint")
	programs := []string{
		build(t, dir, "peer_own"), build(t, dir, "peer_boost"),
		build(t, dir, "peer_gsl", "-lgsl", "-lgslcblas"), build(t, dir, "peer_sundials", sundials...),
	}
	product, count := 1.0, 0
	for _, p := range problems(t) {
		mine := own(t, p, p.system(t))
		all := map[string][]point{}
		for _, exe := range programs {
			for name, runs := range measured(t, p, exe) {
				all[name] = runs
			}
		}
		for name, runs := range measured(t, p, *python, filepath.Join(*peers, "peer_scipy.py")) {
			all[name] = runs
		}
		for _, goal := range []float64{1e-6, 1e-9} {
			here := reach(mine, goal)
			fastest, by := math.Inf(1), "nobody"
			for name, runs := range all {
				if strings.HasPrefix(name, "scipy") || strings.HasPrefix(name, "own") {
					continue
				}
				if d := reach(runs, goal); d < fastest {
					fastest, by = d, name
				}
			}
			fmt.Printf("%-16s to %.0e: here %8.4f ms; fastest library %s %8.4f ms, ratio %.2f; plain C++ of the same method %8.4f ms; SciPy DOP853 %8.2f ms, 1/%.0f\n",
				p.name, goal, here*1e3, by, fastest*1e3, here/fastest, min(reach(all["own_dop853"], goal), reach(all["own_taylor"], goal))*1e3,
				reach(all["scipy_dop853"], goal)*1e3, reach(all["scipy_dop853"], goal)/here)
			if p.name != "van_der_pol" && !math.IsInf(fastest, 1) {
				product *= here / fastest
				count++
			}
			if p.name == "van_der_pol" {
				fmt.Printf("%-16s to %.0e: GSL bsimp %8.4f ms, ratio %.2f (bar 2)\n", p.name, goal, reach(all["gsl_bsimp"], goal)*1e3, here/reach(all["gsl_bsimp"], goal))
			}
		}
	}
	fmt.Printf("geometric mean of the ratios to the fastest library: %.2f (bar 2.5)\n", math.Pow(product, 1/float64(count)))
}

// TestHonestAccuracy prints what asking for an accuracy costs beside the plain
// run that would have reached it. Bar: three times.
func TestHonestAccuracy(t *testing.T) {
	if *peers == "" {
		t.Skip("give -peers FOLDER to measure")
	}
	for _, p := range problems(t) {
		s := p.system(t)
		plain := own(t, p, s)
		for _, asked := range []float64{1e-6, 1e-9} {
			seconds, run := median(t, p, s, motion.Options{Accuracy: asked, EndOnly: true})
			fmt.Printf("%-16s asked %.0e: error %.1e, estimated %.1e, %.3f ms; a plain run reaches as much in %.3f ms, the asked in %.3f ms: %.2f and %.2f times\n",
				p.name, asked, p.wrong(run.End()), run.Error, seconds*1e3, reach(plain, p.wrong(run.End()))*1e3, reach(plain, asked)*1e3,
				seconds/reach(plain, p.wrong(run.End())), seconds/reach(plain, asked))
		}
	}
}

// TestEnergyBesidePeers prints the energy errors of the Hénon-Heiles system to
// t = 1e5 here and in C++. Bars: 3e-7 at 20 evaluations of the force per unit
// of time, 4e-10 at 80.
func TestEnergyBesidePeers(t *testing.T) {
	if *peers == "" {
		t.Skip("give -peers FOLDER to measure")
	}
	dir := t.TempDir()
	if out, err := exec.Command(*python, filepath.Join(*peers, "gen_dop853.py"), filepath.Join(dir, "dop853_coef.h")).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	out, err := exec.Command(build(t, dir, "energy")).Output()
	if err != nil {
		t.Fatal(err)
	}
	s, energy := henonHeiles()
	start := []float64{0, 0.1, math.Sqrt(1.0/6 - 0.01 + 2*0.001/3), 0}
	for _, tt := range []struct {
		m      motion.Method
		stages float64
		rate   float64
		peer   string
	}{
		{motion.BlanesMoan4, 6, 20, "blanes_moan4_s6"}, {motion.BlanesMoan4, 6, 80, "blanes_moan4_s6"},
		{motion.KahanLi6, 9, 20, "kahan_li6"}, {motion.KahanLi6, 9, 80, "kahan_li6"}, {motion.KahanLi8, 17, 80, ""},
	} {
		begin := time.Now()
		run, err := motion.Solve(s, start, 0, 1e5, motion.Options{Method: tt.m, Step: tt.stages / tt.rate, Energy: energy, EndOnly: true, Unchecked: true})
		if err != nil {
			t.Fatal(err)
		}
		fmt.Printf("%v, %g evaluations: energy off by %.3g here (%.2f s)", tt.m, float64(run.Evaluations)/1e5, run.EnergyDrift, time.Since(begin).Seconds())
		for _, line := range strings.Split(string(out), "\n") {
			var peer struct {
				Method string
				T      float64
				Evals  float64
				Off    float64 `json:"max_energy_error"`
				Wall   float64 `json:"wall_s"`
			}
			if json.Unmarshal([]byte(line), &peer) == nil && peer.Method == tt.peer && peer.T == 1e5 && math.Abs(peer.Evals-tt.rate) < 1 {
				fmt.Printf(", %.3g in C++ (%.2f s)", peer.Off, peer.Wall)
			}
		}
		fmt.Println()
	}
}
