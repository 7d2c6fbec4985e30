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
	x, y := a, b
	for x != "" && y != "" {
		var p, q string
		p, x = firstPart(x)
		q, y = firstPart(y)
		if c := comparePart(p, q); c != 0 {
			return c
		}
	}
	return cmp.Or(cmp.Compare(len(x), len(y)), strings.Compare(a, b))
}

// firstPart cuts the first run of digits, or of anything else, off a bin.
func firstPart(bin string) (part, rest string) {
	for i := range len(bin) {
		if isDigit(bin[i]) != isDigit(bin[0]) {
			return bin[:i], bin[i:]
		}
	}
	return bin, ""
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
