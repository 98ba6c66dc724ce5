package worksheet

import "strings"

// nearest returns the known name that a misspelt one most probably means, or "".
func nearest(name string, known []string) string {
	best, at := 1+len(name)/3, ""
	for _, k := range known {
		if d := distance(strings.ToLower(name), k); d <= best && (at == "" || d < best) {
			best, at = d, k
		}
	}
	return at
}

// distance is the number of letters to change, insert or remove (Levenshtein).
func distance(a, b string) int {
	ra, rb := []rune(a), []rune(b)
	row := make([]int, len(rb)+1)
	for j := range row {
		row[j] = j
	}
	for i := range ra {
		diagonal := row[0]
		row[0] = i + 1
		for j := range rb {
			cost := diagonal
			if ra[i] != rb[j] {
				cost++
			}
			diagonal = row[j+1]
			row[j+1] = min(row[j+1]+1, row[j]+1, cost)
		}
	}
	return row[len(rb)]
}
