package main

import (
	"os"
	"testing"

	"circlip/db/dbtest"
	"circlip/inventory/book"
	"circlip/testdata/big"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

// The large workshop is measured both as a shop and as a book: they must be
// the same workshop. What is learnt in neither is left out of the settings.
func TestTheLargeWorkshopsBookIsItsShop(t *testing.T) {
	w := big.New(big.Small)
	folder := t.TempDir()
	if err := w.Write(folder); err != nil {
		t.Fatal(err)
	}
	source, err := book.Folder(os.DirFS(folder))
	if err != nil {
		t.Fatal(err)
	}
	defer source.Close()
	store := dbtest.Open(t)
	report, err := store.Load(t.Context(), source, "")
	if err != nil {
		t.Fatal(err)
	}
	if len(report.Warnings) > 0 {
		t.Errorf("warnings %q", report.Warnings)
	}
	got, err := store.Shop(t.Context(), report.Workshop.ID, big.AsOf)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(w.Shop, got, cmpopts.EquateEmpty()); diff != "" {
		t.Errorf("the shop (-) and what was loaded of its book (+):\n%.4000s", diff)
	}
}
