package series

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
)

// published reads a table of published values; its source is in its head.
func published(t *testing.T, name string) []map[string]string {
	t.Helper()
	return table(t, "../../testdata/published/theory/"+name)
}

func table(t *testing.T, path string) []map[string]string {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	records, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []map[string]string
	for _, record := range records[1:] {
		row := map[string]string{}
		for i, name := range records[0] {
			row[name] = record[i]
		}
		rows = append(rows, row)
	}
	return rows
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance*max(1, math.Abs(want))) {
		t.Errorf("%s: found %.15g, expected %.15g", what, got, want)
	}
}

func TestSmoothersAgreeWithTheReferenceLibrary(t *testing.T) {
	t.Parallel()
	counts := map[string][]float64{}
	for _, row := range published(t, "1a_intermittent_series.csv") {
		counts[row["series"]] = append(counts[row["series"]], number(t, row["y"]))
	}
	rows := published(t, "1b_intermittent_results.csv")
	if len(rows) != 32 {
		t.Fatalf("found %d rows, expected 8 series with 4 constants each", len(rows))
	}
	for _, row := range rows {
		y, alpha := counts[row["series"]], number(t, row["alpha"])
		name := row["series"] + " at " + row["alpha"]
		near(t, "Croston of "+name, Croston(y, alpha), number(t, row["croston"]), 1e-13)
		near(t, "SBA of "+name, SBA(y, alpha), number(t, row["sba"]), 1e-13)
		near(t, "TSB of "+name, TSB(y, alpha, alpha), number(t, row["tsb"]), 1e-13)
	}
}
