package main

import (
	"encoding/json"
	"strings"
	"time"

	"circlip/db"
	"circlip/inventory"
)

// The documents of --json for the commands that plan nothing; package reports
// makes those that do. All begin alike.

// documentHead is what every document begins with. Workshop is empty where the
// command is about none or all of them.
type documentHead struct {
	AsOf     string `json:"as_of"`
	Workshop string `json:"workshop"`
	Schema   int    `json:"schema"`
}

// headOf names the day asked for, or today where the workshop is, or today on
// this machine where none or several are meant.
func (s *session) headOf(workshop string) documentHead {
	asOf, _, _ := strings.Cut(s.opts.AsOf, "T")
	if asOf == "" {
		asOf = inventory.DateOf(time.Now()).String()
	}
	return documentHead{AsOf: asOf, Workshop: workshop, Schema: 1}
}

// document writes one document and a line end to standard output.
func (s *session) document(of any) error {
	e := json.NewEncoder(s.out)
	e.SetEscapeHTML(false)
	return e.Encode(of)
}

// loadDocument is what a load did, in rows by table.
type loadDocument struct {
	documentHead
	Created   bool        `json:"created"` // the workshop is new
	Tables    []tableJSON `json:"tables"`
	Lots      int         `json:"lots"`      // new on the shelf
	Movements int         `json:"movements"` // likewise
	Warnings  []string    `json:"warnings"`
}

type tableJSON struct {
	Table   string `json:"table"`
	Rows    int    `json:"rows"`
	New     int    `json:"new"`
	Changed int    `json:"changed"`
	Same    int    `json:"same"`
	Missing int    `json:"missing"` // of earlier books; they stay
}

func (s *session) loadDocument(r db.LoadReport) loadDocument {
	d := loadDocument{
		documentHead: s.headOf(r.Workshop.Name), Created: r.Created, Tables: []tableJSON{},
		Lots: r.Lots, Movements: r.Movements, Warnings: append([]string{}, r.Warnings...),
	}
	for _, t := range r.Tables {
		d.Tables = append(d.Tables, tableJSON(t))
	}
	return d
}

// fileDocument names a file or folder that was written.
type fileDocument struct {
	documentHead
	Path string `json:"path"`
}

// checkDocument is what a check found in the workshops that it looked at.
type checkDocument struct {
	documentHead
	Workshops []string      `json:"workshops"`
	Findings  []findingJSON `json:"findings"`
}

// findingJSON is one place where the ledger breaks a rule. Item, lot and seq
// are empty where the rule is about something else.
type findingJSON struct {
	Workshop string `json:"workshop"`
	Rule     string `json:"rule"`
	Item     string `json:"item"`
	Lot      string `json:"lot"`
	Seq      int64  `json:"seq"`
	Found    string `json:"found"`
	Expected string `json:"expected"`
}

// actDocument is what an act moved on the shelf.
type actDocument struct {
	documentHead
	Movements []movementJSON `json:"movements"`
	SetAside  []keptJSON     `json:"set_aside"`
}

// keptJSON is a quantity set aside for a job, or below zero given back.
type keptJSON struct {
	Item string  `json:"item"`
	Lot  string  `json:"lot"`
	Job  string  `json:"job"`
	Qty  float64 `json:"qty"`
}

// movementJSON is one movement of a lot, from a place to a place.
type movementJSON struct {
	Item       string  `json:"item"`
	Lot        string  `json:"lot"`
	From       string  `json:"from"`
	To         string  `json:"to"`
	Ref        string  `json:"ref"`
	Qty        float64 `json:"qty"`
	HappenedOn string  `json:"happened_on"`
}

// sheetsDocument names the sheets of an order.
type sheetsDocument struct {
	documentHead
	Send     string `json:"send"`
	Delivery string `json:"delivery"`
}
