package book

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"

	"circlip/inventory"
)

// published reads a file of other people's numbers; its head names them.
func published(t *testing.T, name string) []map[string]string {
	t.Helper()
	file, err := os.Open("../../testdata/published/standards/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	r := csv.NewReader(file)
	r.Comment = '#'
	all, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []map[string]string
	for _, cells := range all[1:] {
		row := map[string]string{}
		for i, cell := range cells {
			row[all[0][i]] = cell
		}
		rows = append(rows, row)
	}
	return rows
}

// Check digits of GS1's own pages and others: testdata/published/standards/gtin.csv.
func TestPublishedCheckDigits(t *testing.T) {
	rows := published(t, "gtin.csv")
	if len(rows) < 10 {
		t.Fatalf("found %d check values, expected 10 or more", len(rows))
	}
	for _, row := range rows {
		if got := string(inventory.CheckDigit(row["body"])); got != row["check_digit"] {
			t.Errorf("check digit of %s: found %s, expected %s", row["body"], got, row["check_digit"])
		}
		for _, number := range []string{row["gtin"], row["gtin14_zero_padded"]} {
			if flaw := gtin(number); flaw != nil {
				t.Errorf("%s: found %q, expected a good number", number, flaw.problem)
			}
		}
	}
}

// A wrong digit anywhere is found, since 1 and 3 have no factor in common with
// ten.
func TestEveryWrongDigitOfABarCodeIsFound(t *testing.T) {
	for _, row := range published(t, "gtin.csv") {
		for i := range row["gtin"] {
			for d := byte('0'); d <= '9'; d++ {
				wrong := []byte(row["gtin"])
				if wrong[i] == d {
					continue
				}
				wrong[i] = d
				if gtin(string(wrong)) == nil {
					t.Errorf("%s passes for %s", wrong, row["gtin"])
				}
			}
		}
	}
}

// testdata/published/standards/iso4217.csv, of the currency codes' data set.
func TestPublishedCurrenciesAreKnown(t *testing.T) {
	for _, row := range published(t, "iso4217.csv") {
		decimals, err := strconv.Atoi(row["minor_unit"])
		if err != nil { // precious metals and the like: no money
			continue
		}
		s, faults := SettingsOf(map[string]string{"workshop": "W", "time_zone": "UTC", "currency": row["alpha"]})
		if len(faults) > 0 || s.Currency.Decimals != decimals {
			t.Errorf("%s: found %v with %d decimals, expected %d", row["alpha"], faults, s.Currency.Decimals, decimals)
		}
	}
}

// testdata/published/standards/iso2230.csv: every rubber with a storage life.
func TestPublishedMaterialsAreKnown(t *testing.T) {
	items, _ := TableOf("items")
	for _, row := range published(t, "iso2230.csv") {
		code := row["iso1629_code"]
		_, warnings, err := Read(items, sheet("item,kind,unit,material", "A,seal,ea,"+code), nil, func(Record) error { return nil })
		if err != nil || len(warnings) > 0 {
			t.Errorf("material %s: found %v, %v, expected no warning", code, warnings, err)
		}
	}
}
