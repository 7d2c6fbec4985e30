package main

import (
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
)

// How LibreOffice must be told to open and save a CSV file so that codes and
// days stay what they are; the tokens are those of its "Filter Options for CSV
// Filter". Opening: comma, quotes, UTF-8 (76), from line 1, every column as text
// (2). Saving: UTF-8 and commas.
const csvSaved = "csv:Text - txt - csv (StarCalc):44,34,76,1"

func csvOpened() string {
	columns := make([]string, 60)
	for i := range columns {
		columns[i] = strconv.Itoa(i+1) + "/2"
	}
	return "--infilter=CSV:44,34,76,1," + strings.Join(columns, "/") + ",0,false,false"
}

// workbooksByOffice lets LibreOffice open the books and save them, to a folder.
func workbooksByOffice(t *testing.T, all []filledIn) string {
	t.Helper()
	theirs := t.TempDir()
	var paths []string
	for _, b := range all {
		paths = append(paths, b.workbook)
	}
	convert(t, append([]string{"--convert-to", "xlsx", "--outdir", theirs}, paths...)...)
	return theirs
}

// foldersByOffice does so with the books' CSV files, in a folder a book. All go
// through one start of LibreOffice, for that takes seconds.
func foldersByOffice(t *testing.T, all []filledIn) string {
	t.Helper()
	theirs, ours := t.TempDir(), t.TempDir()
	var paths []string
	for _, b := range all {
		for name, text := range b.files {
			path := filepath.Join(ours, b.name+"~"+name)
			if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
				t.Fatal(err)
			}
			paths = append(paths, path)
		}
	}
	convert(t, append([]string{"--convert-to", csvSaved, "--outdir", theirs, csvOpened()}, paths...)...)
	for _, path := range paths {
		name, file, _ := strings.Cut(filepath.Base(path), "~")
		err := errors.Join(os.MkdirAll(filepath.Join(theirs, name), 0o755),
			os.Rename(filepath.Join(theirs, filepath.Base(path)), filepath.Join(theirs, name, file)))
		if err != nil {
			t.Fatal(err)
		}
	}
	return theirs
}

// convert runs LibreOffice. It is skipped where that is not installed, aloud,
// but not where the project's own checks run (CI=true).
func convert(t *testing.T, args ...string) {
	t.Helper()
	soffice, err := exec.LookPath("soffice")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("LibreOffice is not installed, and CI=true")
		}
		t.Skip("SKIPPED: LibreOffice (soffice) is not installed: nothing here was checked against it")
	}
	ctx, cancel := context.WithTimeout(t.Context(), 2*time.Minute)
	defer cancel()
	args = append([]string{"-env:UserInstallation=file://" + t.TempDir(), "--headless"}, args...)
	if out, err := exec.CommandContext(ctx, soffice, args...).CombinedOutput(); err != nil {
		t.Fatalf("LibreOffice: %v\n%s", err, out)
	}
}
