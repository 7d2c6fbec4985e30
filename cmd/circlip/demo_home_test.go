package main

import (
	"path/filepath"
	"testing"

	"circlip/testdata/demo"
)

// A newer program's demo does not meet the database of an older one, whose
// counts its book tells otherwise.
func TestEachEditionOfTheDemoHasAHomeOfItsOwn(t *testing.T) {
	edition, err := demo.Edition()
	if err != nil || len(edition) != 8 {
		t.Fatalf("found edition %q, %v", edition, err)
	}
	t.Setenv("XDG_DATA_HOME", t.TempDir())
	s := &session{opts: &commands{}}
	if err := s.demoHome(); err != nil || filepath.Base(s.opts.Home) != edition || filepath.Base(filepath.Dir(s.opts.Home)) != "demo" {
		t.Errorf("found the home %q, %v, expected the edition below demo", s.opts.Home, err)
	}
	s = &session{opts: &commands{Home: "/elsewhere"}}
	if err := s.demoHome(); err != nil || s.opts.Home != "/elsewhere" {
		t.Errorf("found the home %q, %v, expected the one that was asked for", s.opts.Home, err)
	}
}
