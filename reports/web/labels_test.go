package web

import (
	"encoding/xml"
	"errors"
	"io"
	"regexp"
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/reports"
)

const nasty = `<script>alert(1)</script>"'&` + "\u202e"

// labelled is a page of labels of a shop with a hostile item and two lots.
func labelled(t *testing.T) (string, reports.Labels) {
	t.Helper()
	shop := inventory.Shop{
		AsOf: 20619, Settings: inventory.Settings{Workshop: nasty},
		Items: []inventory.Item{{Code: "WIP-35", Name: "Wiper 35", Bin: "A2"}, {Code: nasty, Name: nasty, Bin: nasty}},
		Lots:  []inventory.Lot{{Item: "WIP-35", Code: "L/1", Expires: 20900, OnHand: 1}, {Item: nasty, Code: nasty, OnHand: 1}},
	}
	l, err := reports.LotLabels(shop, func(inventory.Lot) bool { return true })
	if err != nil {
		t.Fatal(err)
	}
	var page strings.Builder
	if err := Labels(&page, l); err != nil {
		t.Fatal(err)
	}
	return page.String(), l
}

func TestAPageOfLabelsHoldsThem(t *testing.T) {
	page, labels := labelled(t)
	for _, l := range labels.Labels {
		if !strings.Contains(page, `<path d="`+l.Code.Path()+`"/>`) {
			t.Errorf("no code of %s", l.Code.Text)
		}
	}
	for _, want := range []string{"<b>Wiper 35</b>", "<span>Lot L/1</span>", "<span>Use before 2027-03-23</span>", "<span>Bin A2</span>", "Labels · "} {
		if !strings.Contains(page, want) {
			t.Errorf("no %s on the page", want)
		}
	}
	if n := strings.Count(page, `class="label"`); n != 2 {
		t.Errorf("found %d labels, expected 2", n)
	}
}

func TestWhatPeopleTypedCannotActOnALabel(t *testing.T) {
	page, _ := labelled(t)
	if strings.Contains(page, "<script") || strings.Contains(page, "\u202e") || strings.Contains(page, "ZgotmplZ") {
		t.Errorf("found a name that acts:\n%s", page)
	}
	if loads := regexp.MustCompile(`(?i)(\bsrc=|\bhref=|url\(|@import|\bon[a-z]+=)`).FindString(page); loads != "" {
		t.Errorf("found %q: the page must load nothing and run nothing", loads)
	}
	if body := page[strings.Index(page, "<body>"):strings.Index(page, "</html>")]; wellFormed(body) != nil {
		t.Errorf("%v in\n%s", wellFormed(body), body)
	}
}

// wellFormed reports whether elements open and close in order.
func wellFormed(markup string) error {
	d := xml.NewDecoder(strings.NewReader(markup))
	d.Entity = xml.HTMLEntity
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			return nil
		} else if err != nil {
			return err
		}
	}
}

func TestNoLabelsAreSaid(t *testing.T) {
	var page strings.Builder
	if err := Labels(&page, reports.Labels{Workshop: "north bench", On: 20619}); err != nil || !strings.Contains(page.String(), "There is no label to print.") {
		t.Errorf("%v\n%s", err, page.String())
	}
}
