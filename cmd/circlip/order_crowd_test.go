package main

import (
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
)

// Two managers place the same sheet at the same moment: one order stands, and
// the other is told which.
func TestOneSheetIsOneOrderWhoeverPlacesIt(t *testing.T) {
	t.Parallel()
	const managers = 6
	dir, dsn := t.TempDir(), database(t, "small")
	reorder := filepath.Join(dir, "reorder.xlsx")
	done(t, "plan", "--as-of", "2026-03-02", "--out", reorder, "--database", dsn)
	var all sync.WaitGroup
	told := make([]outcome, managers)
	for i := range told {
		all.Go(func() {
			told[i] = circlip(t, "order", "place", reorder, "--as-of", "2026-03-02", "--out", filepath.Join(dir, string(rune('a'+i))), "--database", dsn)
		})
	}
	all.Wait()
	placed := 0
	for _, o := range told {
		switch {
		case o.status == statusDone:
			placed++
		case o.status != statusRefused || !strings.Contains(o.err, "hollin-2026-03-02"):
			t.Errorf("exit status %d: %s; expected the order that stands", o.status, o.err)
		}
	}
	if placed != 1 {
		t.Errorf("placed %d times, expected once", placed)
	}
	if list := done(t, "order", "list", "--as-of", "2026-03-02", "--database", dsn); strings.Count(list, "hollin-2026-03-02") != 2 {
		t.Errorf("expected the two lines of one order:\n%s", list)
	}
}

// Two people take the same parcel in at the same moment: it lies on the shelf
// once.
func TestOneParcelIsReceivedOnceWhoeverTakesItIn(t *testing.T) {
	t.Parallel()
	const people = 6
	dsn := database(t, "small")
	var all sync.WaitGroup
	told := make([]outcome, people)
	for i := range told {
		all.Go(func() {
			told[i] = circlip(t, "order", "receive", "PO2", "--as-of", "2026-03-05", "--database", dsn)
		})
	}
	all.Wait()
	for _, o := range told {
		if o.status != statusDone && !strings.Contains(o.err, "nothing of it is outstanding") {
			t.Errorf("exit status %d: %s; expected it received, or that nothing is outstanding", o.status, o.err)
		}
	}
	saved := filepath.Join(t.TempDir(), "saved")
	done(t, "book", "save", saved, "--as-of", "2026-03-05", "--database", dsn)
	orders, err := os.ReadFile(filepath.Join(saved, "orders.csv"))
	if err != nil {
		t.Fatal(err)
	}
	if want := "PO2,wiper-35,hollin,6,2026-02-20,2026-03-04,2026-03-05,6,"; !strings.Contains(string(orders), want) {
		t.Errorf("expected six packs of the six ordered:\n%s", orders)
	}
}
