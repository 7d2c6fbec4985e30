package book

import (
	"bytes"
	"strings"
	"testing"
	"testing/fstest"
)

// FuzzFolder reads any bytes as any table. Nothing panics; a table that yields
// no fault is written again and reads back as the same records. Seeds found by
// fuzzing are kept in testdata/fuzz.
func FuzzFolder(f *testing.F) {
	for i, table := range Tables {
		var header, blanks []string
		for _, c := range table.Columns {
			header, blanks = append(header, c.Name), append(blanks, c.Default)
		}
		f.Add(byte(i), []byte(strings.Join(header, ",")+"\n"+strings.Join(blanks, ",")+"\n"))
	}
	f.Add(byte(0), []byte("\uFEFFkey,value\r\nworkshop,\"No\"\"rd\"\r\ncurrency,EUR\r\nbudget,12.50\r\n"))
	f.Add(byte(10), []byte("unit,date,hours,reset\nF1,2026-01-02,12.5,\nF1,2026-01-03,0,yes\n"))
	f.Add(byte(8), []byte("service,model,item,qty,from,to,need\nS,*,OIL,12.5,2026-01-01,,0.5\nS,M,SEAL,\"'=1\",,,\n"))
	f.Add(byte(12), []byte("job,model,service,bench_date,state,done_on\nJ1,M,A;B,2026-01-02,done,2026-01-03\n"))
	f.Add(byte(1), []byte("supplier,name,cutoff\n'=S,\"a\nb\",8:30\n\xE4,,\n\x00"))
	f.Fuzz(func(t *testing.T, which byte, text []byte) {
		table := Tables[int(which)%len(Tables)]
		source, err := Folder(fstest.MapFS{table.Name + ".csv": {Data: text}})
		if err != nil {
			t.Fatal(err)
		}
		c := randomContext()
		o := readAll(t, table, source.Rows(table.Name), c)
		if len(o.Faults) > 0 {
			return
		}
		var cells [][]string
		for _, r := range o.Records {
			cells = append(cells, table.Format(r.Values, c))
		}
		var out bytes.Buffer
		if err := WriteTable(&out, table, cellsOf(cells, nil)); err != nil {
			t.Fatalf("write what was read: %v", err)
		}
		back := readAll(t, table, rowsOf(newRecords(&out, table.Name)), c)
		if len(back.Faults) > 0 || len(back.Records) != len(o.Records) {
			t.Fatalf("read what was written: %v, %d of %d records", back.Faults, len(back.Records), len(o.Records))
		}
		for i, r := range back.Records {
			want(t, "record written and read", r.Values, o.Records[i].Values)
		}
	})
}
