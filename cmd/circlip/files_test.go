package main

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// files are a book as a folder of CSV files, or the parts of a workbook: texts by
// name.
type files map[string]string

// folderOf reads the files of a folder.
func folderOf(t testing.TB, dir string) files {
	t.Helper()
	paths, err := filepath.Glob(filepath.Join(dir, "*"))
	if err != nil || len(paths) == 0 {
		t.Fatalf("%s has no files: %v", dir, err)
	}
	read := files{}
	for _, path := range paths {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		read[filepath.Base(path)] = string(text)
	}
	return read
}

// with replaces a text that stands once in a file.
func (f files) with(t *testing.T, name, old, replacement string) files {
	t.Helper()
	if strings.Count(f[name], old) != 1 {
		t.Fatalf("%s has %q %d times, expected once", name, old, strings.Count(f[name], old))
	}
	changed := maps.Clone(f)
	changed[name] = strings.Replace(f[name], old, replacement, 1)
	return changed
}

// folder writes the files.
func (f files) folder(t testing.TB) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range f {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// unzipped are the parts of a workbook.
func unzipped(t *testing.T, path string) files {
	t.Helper()
	z, err := zip.OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	parts := files{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		parts[f.Name] = string(text)
	}
	return parts
}

// zipped is the inverse.
func (f files) zipped(t *testing.T) []byte {
	t.Helper()
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for name, text := range f {
		w, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.WriteString(w, text); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// saved is all that a database's only workshop has, as a folder of files.
func saved(t testing.TB, dsn string) files {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "saved")
	done(t, "book", "save", dir, "--database", dsn)
	return folderOf(t, dir)
}

// golden compares with an approved text, or approves.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("../../testdata/cli/golden", name)
	if *update {
		if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o755), os.WriteFile(path, []byte(got), 0o600)); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("%s: %s", path, diff)
	}
}
