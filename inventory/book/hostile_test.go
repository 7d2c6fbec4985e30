package book

import (
	"flag"
	"os"
	"path/filepath"
	"testing"
)

var update = flag.Bool("update", false, "write what was found as what is expected")

// readBook reads a whole book as a load does: settings first, then each table
// in the order of Tables with what the earlier ones said.
func readBook(t *testing.T, dir string) (found []string, records int) {
	t.Helper()
	source, err := Folder(os.DirFS(dir))
	if err != nil {
		t.Fatal(err)
	}
	defer source.Close()
	tables, found := Match(source.Tables())
	settings, c := map[string]string{}, &Context{}
	for _, table := range tables {
		o := readAll(t, table, source.Rows(table.Name), c)
		found = append(append(found, o.Faults...), o.Warnings...)
		records += len(o.Records)
		if table.Name == "settings" {
			for _, r := range o.Records {
				settings[r.Values[0].(string)] = r.Values[1].(string)
			}
			s, _ := SettingsOf(settings)
			c.Currency = s.Currency
		}
	}
	return found, records
}

// Each folder of testdata/hostile/csv is one bad book; its expected.txt says
// every fault and warning, word by word.
func TestBadBooks(t *testing.T) {
	books, err := filepath.Glob("../../testdata/hostile/csv/*")
	if err != nil || len(books) < 20 {
		t.Fatalf("found %d bad books, %v", len(books), err)
	}
	for _, dir := range books {
		t.Run(filepath.Base(dir), func(t *testing.T) {
			found, _ := readBook(t, dir)
			text := ""
			for _, line := range found {
				text += line + "\n"
			}
			golden := filepath.Join(dir, "expected.txt")
			if *update {
				if err := os.WriteFile(golden, []byte(text), 0o600); err != nil {
					t.Fatal(err)
				}
			}
			expected, err := os.ReadFile(golden)
			if err != nil {
				t.Fatal(err)
			}
			want(t, "faults and warnings", text, string(expected))
		})
	}
}
