package main

import (
	"os"
	"strings"
	"testing"
)

// What the README says that the demo prints is what the demo prints.
func TestTheReadmeShowsTheDemosPage(t *testing.T) {
	t.Parallel()
	readme, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	page := done(t, "demo", "--database", database(t, "empty"), "--home", t.TempDir())
	_, after, found := strings.Cut(string(readme), "and prints a page:\n\n```\n")
	shown, _, closed := strings.Cut(after, "\n```\n")
	if !found || !closed {
		t.Fatal("README.md: found no page of the demo, expected one after “and prints a page:”")
	}
	if lines := strings.Count(shown, "\n"); lines < 20 {
		t.Errorf("README.md shows %d lines of the page, expected its first sections", lines)
	}
	if !strings.HasPrefix(page, shown) {
		t.Errorf("README.md shows\n%s\nand the demo prints\n%s", shown, page)
	}
}
