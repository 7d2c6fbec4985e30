package db_test

import (
	"os"
	"testing"
	"time"

	"circlip/db/dbtest"
	"circlip/inventory/book"
)

func TestDemoSmoke(t *testing.T) {
	store := dbtest.Open(t)
	for range 2 {
		src, err := book.Folder(os.DirFS("../testdata/demo"))
		if err != nil {
			t.Fatal(err)
		}
		t0 := time.Now()
		report, err := store.Load(t.Context(), src, "")
		if err != nil {
			t.Fatal(err)
		}
		t.Log(time.Since(t0))
		for _, w := range report.Warnings {
			t.Log(w)
		}
		t.Logf("%+v", report)
	}
}
