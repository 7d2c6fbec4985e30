package db_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"circlip/db/dbtest"
)

// bookTables are the tables of the book in the database, each after those it
// refers to.
var bookTables = []string{"workshop", "setting", "supplier", "item", "container", "offer", "kit_part", "alternate", "model", "service",
	"bom_line", "unit", "reading", "season", "job", "job_use", "stock_row", "order_line", "item_count",
	"count_part", "disposal"}

// BenchmarkPsqlCopy is the measure for BenchmarkLoad: the same rows, as the
// tables hold them in the end, copied into the same tables by psql, without
// reading a book, checking it or keeping a ledger.
func BenchmarkPsqlCopy(b *testing.B) {
	psql, err := exec.LookPath("psql")
	if err != nil {
		b.Skip("psql is not installed")
	}
	bench := openBench(b)
	if _, err := bench.Load(b.Context(), typical, ""); err != nil {
		b.Fatal(err)
	}
	dir := b.TempDir()
	script := filepath.Join(dir, "copy.sql")
	if err := os.WriteFile(script, dumpTables(b, bench.admin, dir), 0o644); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		b.StopTimer()
		fresh := dbtest.Connect(b, dbtest.Migrated(b)).Config()
		copying := exec.CommandContext(b.Context(), psql, "-q", "-v", "ON_ERROR_STOP=1", "--single-transaction", "-f", script,
			"-h", fresh.Host, "-U", fresh.User, "-d", fresh.Database)
		b.StartTimer()
		if out, err := copying.CombinedOutput(); err != nil {
			b.Fatalf("psql: %v: %s", err, out)
		}
	}
	b.ReportMetric(float64(typical.rows()*b.N)/b.Elapsed().Seconds(), "rows/s")
}

// dumpTables writes each table of the book to a file and returns the script
// that copies them in.
func dumpTables(b *testing.B, conn *pgx.Conn, dir string) []byte {
	var script bytes.Buffer
	for _, table := range bookTables {
		var columns string
		err := conn.QueryRow(b.Context(), `SELECT string_agg(quote_ident(attname), ', ' ORDER BY attnum) FROM pg_attribute
			WHERE attrelid = ('circlip.' || $1)::regclass AND attnum > 0 AND attgenerated = '' AND NOT attisdropped`, table).Scan(&columns)
		if err != nil {
			b.Fatal(err)
		}
		name := filepath.Join(dir, table+".csv")
		file, err := os.Create(name)
		if err != nil {
			b.Fatal(err)
		}
		_, err = conn.PgConn().CopyTo(context.WithoutCancel(b.Context()), file,
			fmt.Sprintf("COPY (SELECT %s FROM circlip.%s) TO STDOUT (FORMAT csv)", columns, table))
		if err != nil || file.Close() != nil {
			b.Fatal(err)
		}
		fmt.Fprintf(&script, "\\copy circlip.%s (%s) from '%s' csv\n", table, columns, strings.ReplaceAll(name, "'", "''"))
	}
	return script.Bytes()
}
