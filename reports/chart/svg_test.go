package chart

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

var weeks = []string{"2027-01-04", "2027-01-11", "2027-01-18", "2027-01-25"}

// controlled is a chart of one line within two limits over four weeks.
func controlled(t testing.TB, values ...float64) string {
	t.Helper()
	c := Control("EWMA", "the line within its limits", Rows{Count: len(values)}, "Until", "sigmas", []string{"line"}, []string{"upper", "lower"})
	svg, err := c.SVG(weeks[:len(values)], map[string][]float64{"line": values, "upper": {3, 3, 3, 3}, "lower": {-3, -3, -3, -3}})
	if err != nil {
		t.Fatal(err)
	}
	return svg
}

// found are what a pattern's group matches in a text.
func found(text, pattern string) (all []string) {
	for _, m := range regexp.MustCompile(pattern).FindAllStringSubmatch(text, -1) {
		all = append(all, m[1])
	}
	return all
}

func TestADrawingSaysInWordsWhatItShows(t *testing.T) {
	svg := controlled(t, 1, 2, -1, 0)
	if !strings.HasPrefix(svg, `<svg class="chart" viewBox="0 0 520 260" role="img"><title>EWMA</title><desc>the line within its limits</desc>`) {
		t.Errorf("found %.200s", svg)
	}
	if got := strings.Join(found(svg, `<text x="[^"]*" y="[^"]*">([^<]*)<`), "|"); got != "sigmas|upper|lower|line" {
		t.Errorf("found the words %s, expected the axis and a legend of all lines", got)
	}
}

// Styles say what is thin, dashed or dark: an element has a class, no colour.
func TestADrawingHasNoColours(t *testing.T) {
	svg := controlled(t, 1, 2, -1, 0)
	if regexp.MustCompile(`(?i)style=|stroke|fill|color|#[0-9a-f]{3}`).MatchString(svg) {
		t.Errorf("found a colour in\n%s", svg)
	}
	for class, times := range map[string]int{`class="limit"`: 4, `class="line line1"`: 2, `class="zero"`: 1, `class="dot"`: 5} { // once drawn, once in the legend
		if n := strings.Count(svg, class); n != times {
			t.Errorf("found %d of %s, expected %d", n, class, times)
		}
	}
}

func TestTheUprightAxisEndsOnRoundNumbers(t *testing.T) {
	rows := []struct {
		rule   string
		signed bool
		values []float64
		want   string
	}{
		{"both sides of zero", true, []float64{-3, 4}, "-4 -2 0 2 4"},
		{"tenths", true, []float64{-0.31, 0.42}, "-0.4 -0.2 0.0 0.2 0.4 0.6"},
		{"large numbers", false, []float64{0, 1234}, "0 500 1000 1500"},
		{"one sign alone begins at zero", true, []float64{2, 9}, "0 2 4 6 8 10"},
		{"below zero alone ends there", true, []float64{-9, -2}, "-10 -8 -6 -4 -2 0"},
		{"nothing below zero where no sign is meant", false, []float64{-3, 4}, "0 1 2 3 4"},
		{"nothing but zero", true, []float64{0, 0}, "0.0 0.2 0.4 0.6 0.8 1.0"},
		{"nothing at all", true, nil, "0.0 0.2 0.4 0.6 0.8 1.0"},
		{"what is not finite does not count", true, []float64{math.NaN(), math.Inf(1), 1}, "0.0 0.2 0.4 0.6 0.8 1.0"},
	}
	for _, r := range rows {
		c := Chart{Signed: r.signed, Layers: []Layer{{Column: "line"}}}
		svg, err := c.SVG(weeks[:len(r.values)], map[string][]float64{"line": r.values})
		if got := strings.Join(found(svg, `class="number"[^>]*>([^<]*)<`), " "); err != nil || got != r.want {
			t.Errorf("%s: found the ticks %s (%v), expected %s", r.rule, got, err, r.want)
		}
	}
}

func TestALineBreaksWhereAValueIsMissing(t *testing.T) {
	rows := []struct {
		rule       string
		values     []float64
		runs, dots int
	}{
		{"whole", []float64{1, 2, 3, 2}, 1, 4},
		{"a gap in the middle", []float64{1, math.NaN(), 3, 2}, 2, 3},
		{"at an end", []float64{math.Inf(-1), 1, 2, 3}, 1, 3},
		{"alone, a line of no length", []float64{math.NaN(), 1, math.NaN(), 2}, 2, 2},
		{"none", []float64{math.NaN(), math.NaN()}, 0, 0},
	}
	for _, r := range rows {
		svg := controlled(t, r.values...)
		line := found(svg, `<path class="line line1" d="([^"]*)"`)[0]
		if runs := strings.Count(line, "M"); runs != r.runs || strings.Count(line, "h0") != r.runs {
			t.Errorf("%s: found %d runs in %q, expected %d", r.rule, runs, line, r.runs)
		}
		if n := strings.Count(svg, "<circle") - 1; n != r.dots {
			t.Errorf("%s: found %d dots, expected %d", r.rule, n, r.dots)
		}
	}
}

func TestAsManyDaysAreNamedAsFindRoom(t *testing.T) {
	for rows, want := range map[int]int{0: 0, 1: 1, 6: 6, 7: 4, 12: 6, 13: 5, 260: 6} {
		names := make([]string, rows)
		for i := range names {
			names[i] = strconv.Itoa(i)
		}
		svg, err := Chart{Layers: []Layer{{Column: "line"}}}.SVG(names, nil)
		if n := strings.Count(svg, `class="name"`); err != nil || n != want {
			t.Errorf("%d rows: found %d names (%v), expected %d", rows, n, err, want)
		}
	}
}

func TestOnlyLinesOverNamesAreDrawn(t *testing.T) {
	for name, c := range map[string]Chart{
		"a fan":         Fan("Wiper", "ea", Rows{Count: 2}, "From", "low", "band", "middle"),
		"a path":        Path("Curve", "", Rows{Count: 2}, "Stock", "EUR", "Ready", "share"),
		"bars":          Bars("Bars", "", Rows{Count: 2}, "Place", "Share", "times", "Flat"),
		"named lines":   {Layers: []Layer{{Column: "line", Named: "Method"}}},
		"shifted lines": {Layers: []Layer{{Column: "line", Rows: Rows{First: 1, Count: 1}}}},
		"to scale":      {Numbers: true, Layers: []Layer{{Column: "line"}}},
	} {
		if svg, err := c.SVG(weeks, nil); err == nil || svg != "" {
			t.Errorf("%s: found %q, %v, expected it to be refused", name, svg, err)
		}
	}
}

// Whatever the texts and numbers, the element is well formed, keeps the texts as
// they are, and nothing in it lies outside its frame.
func TestEveryDrawingIsWholeAndWithinItsFrame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[<>&"'a-zé漢 ]{1,12}`).Draw(t, "text")
		number := rapid.OneOf(rapid.Float64(), rapid.Float64Range(-5, 5), rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), 0, 1e15, -1e15, 5e-324}))
		values := rapid.SliceOfN(number, 0, 60).Draw(t, "values")
		names := make([]string, len(values))
		for i := range names {
			names[i] = text
		}
		c := Control(text, text, Rows{Count: len(values)}, "Until", text, []string{text}, []string{"limit"})
		svg, err := c.SVG(names, map[string][]float64{text: values, "limit": values})
		if err != nil {
			t.Fatal(err)
		}
		if got := texts(t, svg); got[0] != text || got[1] != text {
			t.Fatalf("found the title %q and %q, expected %q", got[0], got[1], text)
		}
		for _, path := range found(svg, ` d="([^"]*)"`) {
			for _, point := range found(path, `[ML]([-0-9.NaInfe+]+ [-0-9.NaInfe+]+)`) {
				across, down, _ := strings.Cut(point, " ")
				x, errX := strconv.ParseFloat(across, 64)
				y, errY := strconv.ParseFloat(down, 64)
				if errX != nil || errY != nil || !(x >= 0 && x <= svgWide && y >= svgTop-0.1 && y <= svgHigh) {
					t.Fatalf("found the point %s outside the frame in %s", point, svg)
				}
			}
		}
		if strings.Contains(svg, "NaN") || strings.Contains(svg, "Inf") {
			t.Fatalf("found what is no number in %s", svg)
		}
	})
}

// texts are those of a well formed element.
func texts(t interface{ Fatal(...any) }, markup string) (all []string) {
	d := xml.NewDecoder(strings.NewReader(markup))
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return all
		}
		if err != nil {
			t.Fatal(err, markup)
		}
		if text, is := token.(xml.CharData); is {
			all = append(all, string(text))
		}
	}
}
