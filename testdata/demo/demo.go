// Package demo carries the demo book: eighteen months of an invented bike
// park's suspension workshop, as a folder of CSV files. Every name, price and
// number in it is made up; generate*.go make it again from its seed.
package demo

import "embed"

// Book holds the CSV files.
//
//go:embed *.csv
var Book embed.FS

// AsOf is the Monday on which the book ends and the demo plans.
const AsOf = "2026-06-15"
