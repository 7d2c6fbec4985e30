//go:build unix

package main

import (
	"os"
	"path/filepath"
	"testing"
	"time"
)

// A rehearsal that would take minutes ends soon after Ctrl-C, and leaves no
// workbook.
func TestAnInterruptedRehearsalWritesNothing(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	for _, c := range []struct {
		rule string
		more []string
	}{
		{"one workshop", nil},
		{"several at once", []string{"--seeds", "20", "--vary"}},
	} {
		args := append([]string{"rehearse", "--generate", "--weeks", "104", "--out", filepath.Join(folder, "rehearsal.xlsx")}, c.more...)
		play, said := start(t, args...)
		time.Sleep(1500 * time.Millisecond) // it plays, a week in some tenths of a second
		if err := play.Process.Signal(os.Interrupt); err != nil {
			t.Fatal(err)
		}
		interrupted := time.Now()
		err := play.Wait()
		if took := time.Since(interrupted); took > 10*time.Second {
			t.Errorf("%s: it ended %v after the interrupt, expected soon", c.rule, took)
		}
		if status := exitStatus(err); status != statusRefused || said.String() != "circlip: interrupted; nothing half done is kept\n" {
			t.Errorf("%s: exit status %d (%v) and %q, expected 1 and that nothing is kept", c.rule, status, err, said)
		}
	}
	if left, err := os.ReadDir(folder); err != nil || len(left) != 0 {
		t.Errorf("found %v left behind (%v), expected nothing", left, err)
	}
}

// What is given as none is none, and what is left open is left to the
// generator.
func TestWhatIsNotGivenIsLeftOpen(t *testing.T) {
	none, some, units := 0.0, 0.3, 0
	c := rehearseCommand{Weeks: 104, WarmUp: 8, inventCommand: inventCommand{WalkIns: &none, Season: &some, Units: &units}}
	config := c.configs()[0]
	if config.WalkInShare >= 0 || config.Units >= 0 || config.SeasonAmplitude != some || config.Lateness != 0 || config.Customers != 0 || config.Seed != 1 || config.Weeks != 156 {
		t.Errorf("found %+v, expected none as negative, 0.3 as it is, the rest open, and three years for two to play", config)
	}
	seed, seeds := uint64(9), 3
	c.Seed, c.Seeds = &seed, &seeds
	if list := c.configs(); len(list) != 3 || list[0].Seed != 9 || list[2].Seed != 11 {
		t.Errorf("found %+v, expected the seeds 9 to 11", list)
	}
}
