package reports

import (
	"cmp"
	"strings"
)

// compareBins orders bins as people walk past them: A2 before A10, and what has
// no bin last.
func compareBins(a, b string) int {
	if (a == "") != (b == "") {
		return truth(a == "") - truth(b == "")
	}
	x, y := binParts(a), binParts(b)
	for i := range min(len(x), len(y)) {
		if c := comparePart(x[i], y[i]); c != 0 {
			return c
		}
	}
	return cmp.Or(cmp.Compare(len(x), len(y)), strings.Compare(a, b))
}

// binParts cuts a bin into runs of digits and of anything else.
func binParts(bin string) []string {
	var parts []string
	digits := false
	for _, r := range bin {
		is := r >= '0' && r <= '9'
		if len(parts) == 0 || is != digits {
			parts = append(parts, "")
		}
		parts[len(parts)-1] += string(r)
		digits = is
	}
	return parts
}

// comparePart orders numbers by value, without regard to zeros in front.
func comparePart(a, b string) int {
	if isDigit(a[0]) && isDigit(b[0]) {
		a, b = strings.TrimLeft(a, "0"), strings.TrimLeft(b, "0")
		return cmp.Or(cmp.Compare(len(a), len(b)), strings.Compare(a, b))
	}
	return strings.Compare(a, b)
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }
