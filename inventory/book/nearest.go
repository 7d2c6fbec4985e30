package book

import (
	"strings"
	"unicode/utf8"
)

// Nearest finds the known code that differs least from the one found: letters
// added, lost, changed or swapped with their neighbour, upper and lower case
// alike. Codes that differ in more than a third are not suggested. Of equally
// near ones that of the same length is taken, for letters are changed and
// swapped more often than lost; else the first.
func Nearest(code string, known []string) (string, bool) {
	found := []rune(strings.ToLower(code))
	if len(found) == 0 || len(found) > MaxCode {
		return "", false
	}
	best, least := "", 2*max(1, len(found)/3)+2 // twice the distance, and one for another length
	for _, k := range known {
		longer := utf8.RuneCountInString(k) - len(found)
		if 2*max(longer, -longer) >= least {
			continue
		}
		if d := 2*distance(found, []rune(strings.ToLower(k))) + min(1, max(longer, -longer)); d < least {
			best, least = k, d
		}
	}
	return best, best != ""
}

// distance is the optimal string alignment distance: the least number of
// insertions, deletions, substitutions and swaps of neighbours where no part
// is edited twice (Damerau 1964; Wagner & Fischer 1974 without the swaps).
func distance(a, b []rune) int {
	before, last, next := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		next[0] = i
		for j := 1; j <= len(b); j++ {
			changed := last[j-1]
			if a[i-1] != b[j-1] {
				changed++
			}
			next[j] = min(changed, last[j]+1, next[j-1]+1)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				next[j] = min(next[j], before[j-2]+1)
			}
		}
		before, last, next = last, next, before
	}
	return last[len(b)]
}
