package order_test

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// published reads a table of other people's numbers; each file's head says
// whose. Rows are by column name.
func published(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "published", "theory", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var table []map[string]string
	for _, row := range rows[1:] {
		named := make(map[string]string)
		for c, column := range rows[0] {
			named[column] = row[c]
		}
		table = append(table, named)
	}
	if len(table) == 0 {
		t.Fatalf("%s holds no rows", name)
	}
	return table
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func numbers(t *testing.T, text string) (list []float64) {
	t.Helper()
	for _, word := range strings.Fields(text) {
		list = append(list, number(t, word))
	}
	return list
}
