package chaos_test

import (
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os/exec"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"counterpoise/mechanics/chaos"
)

// peers is the folder with the peers' sources; the developers' notes say what
// is in it.
var peers = flag.String("peers", "", "folder of the ensemble peers, to measure the flip map beside them")

// TestFlipMapBesidePeer prints how long the flip map of 512² starts takes here
// and in the C++ program with OpenMP, one motion at a time, both now and on all
// cores. Bars: at most 0.85 of the peer, the same flips, the same mean time to
// 1e-6, and at least 1.8 times as fast on two cores as on one.
func TestFlipMapBesidePeer(t *testing.T) {
	if *peers == "" {
		t.Skip("give -peers FOLDER to measure")
	}
	exe := filepath.Join(t.TempDir(), "flip")
	if out, err := exec.Command("g++", "-O3", "-march=native", "-fopenmp", "-std=c++17", "-o", exe, filepath.Join(*peers, "flip.cpp")).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	p := doublePendulum(t)
	all := flipOptions()
	all.Impossible = nil
	for _, mode := range []string{"stop", "all"} {
		out, err := exec.Command(exe, "512", "lane", mode).Output()
		if err != nil {
			t.Fatal(err)
		}
		var peer struct {
			Wall    float64 `json:"wall_s"`
			Flipped int
			Mean    float64 `json:"mean_flip_time"`
		}
		if err := json.Unmarshal(out, &peer); err != nil {
			t.Fatal(err)
		}
		for name, o := range map[string]chaos.FlipOptions{"with the energy's veto": flipOptions(), "without it": all} {
			start := time.Now()
			m, err := chaos.FlipTimes(p, atRest, circle(512), circle(512), o)
			wall := time.Since(start).Seconds()
			if err != nil {
				t.Fatal(err)
			}
			n, mean := m.Happened()
			fmt.Printf("flip map 512², peer in mode %s %.2f s; here, %s, %.2f s: ratio %.3f (bar 0.85); flips %d and %d, mean %.6f and %.6f s\n",
				mode, peer.Wall, name, wall, wall/peer.Wall, n, peer.Flipped, mean, peer.Mean)
			if n != peer.Flipped || math.Abs(mean-peer.Mean) > 1e-6 {
				t.Errorf("%s: %d flips, mean %.7f s; the peer has %d, %.7f", name, n, mean, peer.Flipped, peer.Mean)
			}
		}
	}
	if runtime.NumCPU() < 2 {
		return
	}
	times := map[int]float64{}
	for _, cores := range []int{1, 2, 1, 2} {
		before := runtime.GOMAXPROCS(cores)
		start := time.Now()
		if _, err := chaos.FlipTimes(p, atRest, circle(160), circle(160), all); err != nil {
			t.Fatal(err)
		}
		times[cores] = min(time.Since(start).Seconds(), orInfinite(times[cores]))
		runtime.GOMAXPROCS(before)
	}
	fmt.Printf("flip map 160²: one core %.3f s, two %.3f s: %.2f times as fast (bar 1.8)\n", times[1], times[2], times[1]/times[2])
}

func orInfinite(x float64) float64 {
	if x == 0 {
		return math.Inf(1)
	}
	return x
}
