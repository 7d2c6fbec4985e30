package main

import (
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/xuri/excelize/v2"

	"circlip/inventory"
)

// What LibreOffice works out on the sheets that are sent, with every value of
// ours taken off them, is what the database holds of the orders.
func TestTotalsOfOrdersSentAreTheDatabases(t *testing.T) {
	t.Parallel()
	dir, dsn := t.TempDir(), database(t, "demo")
	reorder := filepath.Join(dir, "reorder.xlsx")
	done(t, "plan", "--as-of", "2026-06-15", "--out", reorder, "--database", dsn)
	var placed struct {
		Orders []struct{ Order, Send, Goods string }
	}
	if err := json.Unmarshal([]byte(done(t, "order", "place", reorder, "--as-of", "2026-06-15", "--out", dir, "--json", "--database", dsn)), &placed); err != nil {
		t.Fatal(err)
	}
	if len(placed.Orders) < 2 {
		t.Fatalf("found %d orders, expected several", len(placed.Orders))
	}
	bare, csvs := t.TempDir(), t.TempDir()
	args := []string{"--convert-to", "csv", "--outdir", csvs}
	for _, o := range placed.Orders {
		args = append(args, withoutValues(t, o.Send, bare))
	}
	convert(t, args...)
	kept := goodsOf(t, dsn)
	for _, o := range placed.Orders {
		theirs := goodsIn(t, filepath.Join(csvs, o.Order+"-order.csv"))
		if cents(t, theirs) != cents(t, kept[o.Order]) || cents(t, o.Goods) != cents(t, kept[o.Order]) || cents(t, theirs) == 0 {
			t.Errorf("order %s: LibreOffice %s, told %s, the database %s", o.Order, theirs, o.Goods, kept[o.Order])
		}
	}
}

// cents reads an amount, however many decimals it is written with.
func cents(t *testing.T, text string) inventory.Money {
	t.Helper()
	m, err := inventory.Currency{Code: "EUR", Decimals: 2}.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// withoutValues copies a workbook with nothing but the formulas in the cells
// that have one.
func withoutValues(t *testing.T, path, dir string) string {
	t.Helper()
	file, err := excelize.OpenFile(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	if err := file.UpdateLinkedValue(); err != nil {
		t.Fatal(err)
	}
	copied := filepath.Join(dir, filepath.Base(path))
	if err := file.SaveAs(copied); err != nil {
		t.Fatal(err)
	}
	return copied
}

// goodsOf is the goods of every order, by the database.
func goodsOf(t *testing.T, dsn string) map[string]string {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), dsn)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	rows, err := conn.Query(t.Context(), `SELECT order_code, to_char(sum(packs * price) / 100.0, 'FM999990.00') FROM circlip.order_line GROUP BY order_code`)
	if err != nil {
		t.Fatal(err)
	}
	goods := map[string]string{}
	var order, sum string
	if _, err := pgx.ForEachRow(rows, []any{&order, &sum}, func() error {
		goods[order] = sum
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	return goods
}

// goodsIn is the total called Goods of a sheet that LibreOffice saved.
func goodsIn(t *testing.T, path string) string {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	reader := csv.NewReader(file)
	reader.FieldsPerRecord = -1
	lines, err := reader.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range lines {
		if line[0] == "Goods" {
			for _, cell := range line[1:] {
				if cell != "" {
					return strings.ReplaceAll(cell, ",", "")
				}
			}
		}
	}
	t.Fatalf("%s has no total called Goods", path)
	return ""
}
