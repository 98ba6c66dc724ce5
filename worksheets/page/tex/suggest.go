package tex

import (
	"maps"
	"slices"
)

// suggestion names the nearest known command, if one is near.
func suggestion(name string) string {
	best, at := 3, ""
	for _, known := range known() {
		if d := distance(name, known, best); d < best {
			best, at = d, known
		}
	}
	if at == "" || best > 1+len(name)/4 {
		return "write it with commands of the notation page"
	}
	return `did you mean \` + at + "?"
}

// known lists all commands in order.
func known() []string {
	all := slices.Collect(maps.Keys(symbols))
	all = slices.AppendSeq(all, maps.Keys(capitals))
	all = slices.AppendSeq(all, maps.Keys(functions))
	all = slices.AppendSeq(all, maps.Keys(large))
	all = slices.AppendSeq(all, maps.Keys(accents))
	all = slices.AppendSeq(all, maps.Keys(commands))
	slices.Sort(all)
	return all
}

// distance is the number of letters to change, insert, remove or swap
// (restricted edit distance), or limit if it is not less.
func distance(a, b string, limit int) int {
	if d := len(a) - len(b); d >= limit || -d >= limit {
		return limit
	}
	before, last, next := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		next[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			next[j] = min(last[j]+1, next[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				next[j] = min(next[j], before[j-2]+1)
			}
		}
		before, last, next = last, next, before
	}
	return min(last[len(b)], limit)
}
