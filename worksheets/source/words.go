package source

import "strings"

// nearest returns the candidate that a misspelt name most probably means, or ""
// if none is near: one slip for short names, one letter in three for longer.
func nearest(name string, candidates []string) string {
	best, at := 1+len([]rune(name))/3, ""
	for _, c := range candidates {
		if d := distance(strings.ToLower(name), strings.ToLower(c)); d <= best && (at == "" || d < best) {
			best, at = d, c
		}
	}
	return at
}

// distance is the number of letters to change, insert, remove or swap.
func distance(a, b string) int {
	ra, rb := []rune(a), []rune(b)
	before, last, next := make([]int, len(rb)+1), make([]int, len(rb)+1), make([]int, len(rb)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(ra); i++ {
		next[0] = i
		for j := 1; j <= len(rb); j++ {
			cost := 1
			if ra[i-1] == rb[j-1] {
				cost = 0
			}
			next[j] = min(last[j]+1, next[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && ra[i-1] == rb[j-2] && ra[i-2] == rb[j-1] {
				next[j] = min(next[j], before[j-2]+1)
			}
		}
		before, last, next = last, next, before
	}
	return last[len(rb)]
}
