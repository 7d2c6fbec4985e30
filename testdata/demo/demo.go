// Package demo carries the demo book: eighteen months of an invented bike
// park's suspension workshop, as a folder of CSV files. Every name, price and
// number in it is made up; generate*.go make it again from its seed.
package demo

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"io/fs"
)

// Book holds the CSV files.
//
//go:embed *.csv
var Book embed.FS

// AsOf is the Monday on which the book ends and the demo plans.
const AsOf = "2026-06-15"

// Edition names the book by what its files hold: a database that has another
// edition has counts that this one tells otherwise.
func Edition() (string, error) {
	names, err := fs.Glob(Book, "*.csv")
	if err != nil {
		return "", err
	}
	h := sha256.New()
	for _, name := range names {
		file, err := Book.ReadFile(name)
		if err != nil {
			return "", err
		}
		h.Write([]byte(name + "\x00"))
		h.Write(file)
	}
	return hex.EncodeToString(h.Sum(nil)[:4]), nil
}
