package main

import (
	"encoding/json"
	"slices"
	"testing"
	"time"

	"circlip/inventory"
)

// Without --as-of the day is today where the workshop is: between these two
// zones lie 26 hours, so it is never the same day in both.
func TestTodayIsTheWorkshopsOwn(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	for _, zone := range []string{"Pacific/Kiritimati", "Etc/GMT+12"} {
		where, err := time.LoadLocation(zone)
		if err != nil {
			t.Fatal(err)
		}
		dsn := database(t, "empty")
		done(t, "load", smallFiles(t).with(t, "settings.csv", "Europe/Vienna", zone).folder(t), "--database", dsn)
		today := func() string { return inventory.DateOf(time.Now().In(where)).String() }
		possible := []string{today()}
		var document struct {
			AsOf string `json:"as_of"`
		}
		if err := json.Unmarshal([]byte(done(t, "kits", "--json", "--database", dsn)), &document); err != nil {
			t.Fatal(err)
		}
		if possible = append(possible, today()); !slices.Contains(possible, document.AsOf) {
			t.Errorf("in %s the day is %s, expected %v", zone, document.AsOf, possible)
		}
		seen[document.AsOf] = true
	}
	if len(seen) != 2 {
		t.Errorf("one day for both ends of the world: %v", seen)
	}
}
