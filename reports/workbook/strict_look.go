package workbook

// looks is what of a sheet's looks decides on what a person has seen of it:
// hidden rows and columns, and merged cells, of which only the first one shows
// and is kept.
type looks struct {
	hiddenRow bool     // the row at hand
	columns   [][2]int // hidden ones, from and to
	merged    []area
}

// area is a rectangle of cells, from 1.
type area struct{ left, top, right, bottom int }

// mostMerged bounds what is kept of a sheet made to fill the memory.
const mostMerged = 100_000

// looksOf reads one element beside the rows and leaves it.
func (s *sheet) looksOf(name string) {
	switch name {
	case "cols":
		s.eachChild("col", s.hiddenColumn)
	case "mergeCells":
		s.eachChild("mergeCell", s.mergedCells)
	default:
		s.skip()
	}
}

// eachChild reads the children of the current element, all of one name.
func (s *sheet) eachChild(want string, read func()) {
	for name, ok := s.child(); ok; name, ok = s.child() {
		if string(name) != want {
			s.fail("found <%s>, expected <%s>", name, want)
			return
		}
		read()
		s.skip()
	}
}

func (s *sheet) hiddenColumn() {
	from, okFrom := digits(s.attr("min"))
	to, okTo := digits(s.attr("max"))
	switch {
	case !okFrom || !okTo || len(s.look.columns) == lastColumn:
		s.fail("found the columns %.12q to %.12q, expected numbers", s.attr("min"), s.attr("max"))
	case isTrue(s.attr("hidden")) || string(s.attr("width")) == "0":
		s.look.columns = append(s.look.columns, [2]int{from, to})
	}
}

func (s *sheet) mergedCells() {
	a, ok := parseArea(s.attr("ref"))
	switch {
	case !ok:
		s.fail("found the merged cells %.24q, expected a range such as A1:B2", s.attr("ref"))
	case len(s.look.merged) == mostMerged:
		s.reject("found more than %d merged cells", mostMerged)
	default:
		s.look.merged = append(s.look.merged, a)
	}
}

// hides reports whether a column, from 1, cannot be seen.
func (l *looks) hides(column int) bool {
	for _, c := range l.columns {
		if c[0] <= column && column <= c[1] {
			return true
		}
	}
	return false
}

// parseArea reads a range such as A1:B2.
func parseArea(b []byte) (a area, ok bool) {
	for i, c := range b {
		if c == ':' {
			var okFrom, okTo bool
			a.left, a.top, okFrom = parseCellName(b[:i])
			a.right, a.bottom, okTo = parseCellName(b[i+1:])
			return a, okFrom && okTo && a.left <= a.right && a.top <= a.bottom
		}
	}
	return area{}, false
}

// isTrue reads a boolean attribute (ISO/IEC 29500-1, W3C XML Schema boolean).
func isTrue(b []byte) bool { return string(b) == "1" || string(b) == "true" }
