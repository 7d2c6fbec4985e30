package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"

	"circlip/db/dbtest"
	"circlip/inventory/book"
	"circlip/testdata/big"
)

// The figures of DEVELOPERS.md: whole processes, since what a person waits for
// and what a machine must hold is the process. A machine that does other work
// besides tells too much: run them several times and take the least.
//
//	go test ./cmd/circlip -run '^$' -bench . -benchtime 5x

// BenchmarkPlan is `circlip plan` of the large workshop, from the database to
// the finished workbook.
func BenchmarkPlan(b *testing.B) {
	program, folder := built(b), bigBook(b)
	dsn := dbtest.Migrated(b)
	process(b, program, "load", folder, "--database", dsn)
	for _, args := range [][]string{{"plan"}, {"forecast", "--json"}} {
		b.Run(strings.Join(args, " "), func(b *testing.B) {
			var all usage
			for b.Loop() {
				all.add(process(b, program, slices.Concat(args, []string{"--database", dsn, "--home", b.TempDir(), "--as-of", big.AsOf.String()})...))
			}
			all.report(b)
		})
	}
}

// BenchmarkLoad is `circlip load` of the large workshop's book into a fresh
// database, beside psql's \copy of the same rows into plain tables, without and
// with their keys.
func BenchmarkLoad(b *testing.B) {
	program, folder := built(b), bigBook(b)
	b.Run("load", func(b *testing.B) {
		var all usage
		for b.Loop() {
			b.StopTimer()
			dsn := dbtest.Migrated(b)
			b.StartTimer()
			all.add(process(b, program, "load", folder, "--database", dsn))
		}
		all.report(b)
	})
	for _, keys := range []string{"without keys", "with keys"} {
		b.Run("copy "+keys, func(b *testing.B) {
			script := copyScript(b, folder, keys == "with keys")
			for b.Loop() {
				b.StopTimer()
				dsn := dbtest.Empty(b)
				b.StartTimer()
				process(b, "psql", "--no-psqlrc", "--quiet", "--single-transaction", "--set=ON_ERROR_STOP=1", "--file="+script, dsn)
			}
		})
	}
}

// copyScript makes plain tables for the book and copies its files into them.
func copyScript(b *testing.B, folder string, keys bool) string {
	types := map[book.Kind]string{
		book.Integer: "bigint", book.Decimal: "double precision", book.Quantity: "numeric", book.Money: "numeric",
		book.UnitCost: "numeric", book.Date: "date",
	}
	var sql strings.Builder
	for _, t := range book.Tables {
		var columns, key []string
		for _, c := range t.Columns {
			kind, special := types[c.Kind]
			if !special {
				kind = "text"
			}
			columns = append(columns, fmt.Sprintf("%q %s", c.Name, kind))
			if c.Key {
				key = append(key, fmt.Sprintf("%q", c.Name))
			}
		}
		if keys {
			columns = append(columns, "UNIQUE NULLS NOT DISTINCT ("+strings.Join(key, ", ")+")")
		}
		fmt.Fprintf(&sql, "CREATE TABLE %q (%s);\n", t.Name, strings.Join(columns, ", "))
		fmt.Fprintf(&sql, "\\copy %q FROM '%s' WITH (FORMAT csv, HEADER)\n", t.Name, filepath.Join(folder, t.Name+".csv"))
	}
	script := filepath.Join(b.TempDir(), "copy.sql")
	if err := os.WriteFile(script, []byte(sql.String()), 0o644); err != nil {
		b.Fatal(err)
	}
	return script
}

func bigBook(b *testing.B) string {
	folder := b.TempDir()
	if err := big.New(big.Goal).Write(folder); err != nil {
		b.Fatal(err)
	}
	return folder
}

// built compiles the program.
func built(b *testing.B) string {
	program := filepath.Join(b.TempDir(), "circlip")
	if out, err := exec.Command("go", "build", "-o", program, ".").CombinedOutput(); err != nil {
		b.Fatalf("go build: %v\n%s", err, out)
	}
	return program
}

// process runs a program to its end.
func process(b *testing.B, program string, args ...string) *os.ProcessState {
	b.Helper()
	cmd := exec.Command(program, args...)
	if out, err := cmd.CombinedOutput(); err != nil {
		b.Fatalf("%s %s: %v\n%s", filepath.Base(program), strings.Join(args, " "), err, out)
	}
	return cmd.ProcessState
}

// usage is what processes took.
type usage struct {
	processes int
	cpu       float64 // seconds
	peak      int64   // KiB resident, of the largest
}

func (u *usage) add(p *os.ProcessState) {
	u.processes++
	u.cpu += (p.UserTime() + p.SystemTime()).Seconds()
	u.peak = max(u.peak, p.SysUsage().(*syscall.Rusage).Maxrss)
}

func (u *usage) report(b *testing.B) {
	b.ReportMetric(u.cpu/float64(u.processes), "cpu-s/op")
	b.ReportMetric(float64(u.peak)*1024/1e6, "peak-MB")
}
