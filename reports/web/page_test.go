package web

import (
	"html"
	"io"
	"regexp"
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/reports"
	"circlip/testdata/golden/plans"

	"pgregory.net/rapid"
)

func papersOf(shop inventory.Shop) reports.Papers {
	return reports.PapersOfDay(shop, inventory.Kits(shop), shop.AsOf)
}

// pages are both pages of some papers.
func pages(t interface{ Fatal(...any) }, p reports.Papers) map[string]string {
	made := map[string]string{}
	for name, write := range map[string]func(io.Writer, reports.Papers) error{"pick list": PickList, "cards": Cards} {
		var out strings.Builder
		if err := write(&out, p); err != nil {
			t.Fatal(err)
		}
		made[name] = out.String()
	}
	return made
}

var (
	tag        = regexp.MustCompile(`<[^>]*>`)
	styleSheet = regexp.MustCompile(`(?s)<style>.*?</style>`)
)

// cells are the texts of a page's table cells, read back.
func cells(page string) []string {
	var texts []string
	for _, cell := range regexp.MustCompile(`(?s)<td[^>]*>(.*?)</td>`).FindAllStringSubmatch(page, -1) {
		texts = append(texts, html.UnescapeString(cell[1]))
	}
	return texts
}

// cellsOf are the texts that sheets hold, row by row.
func cellsOf(sheets ...reports.Sheet) []string {
	var texts []string
	for _, s := range sheets {
		for _, r := range s.Rows {
			for _, c := range r.Cells {
				texts = append(texts, reports.Plain(c.String()))
			}
		}
	}
	return texts
}

func TestPagesSayWhatTheSheetsSay(t *testing.T) {
	p := papersOf(plans.Bench())
	made := pages(t, p)
	var tables []reports.Sheet
	for _, c := range p.Cards {
		tables = append(append(tables, c.Tables...), c.Forms...)
	}
	for name, want := range map[string][]string{"pick list": cellsOf(p.PickList), "cards": cellsOf(tables...)} {
		got := cells(made[name])
		if strings.Join(got, "|") != strings.Join(want, "|") {
			t.Errorf("%s: found\n%q\nexpected\n%q", name, got, want)
		}
	}
	words := html.UnescapeString(tag.ReplaceAllString(made["cards"], "\n"))
	for _, c := range p.Cards {
		for _, f := range c.Facts {
			if !strings.Contains(words, strings.TrimSpace(f.Value.String()+" "+f.Unit)) {
				t.Errorf("job %s: expected the page to say %s %s", c.Job, f.Label, f.Value)
			}
		}
		for _, caution := range c.Cautions {
			if !strings.Contains(words, caution) {
				t.Errorf("job %s: expected the page to hold %q", c.Job, caution)
			}
		}
	}
	if got := strings.Count(made["cards"], "<article>"); got != len(p.Cards) {
		t.Errorf("found %d cards, expected %d", got, len(p.Cards))
	}
}

// A page is one file: nothing in it runs, loads or leads elsewhere.
func TestPagesAreWholeByThemselves(t *testing.T) {
	for name, page := range pages(t, papersOf(plans.Bench())) {
		for _, foreign := range []string{"<script", "<link", "<img", "<iframe", "src=", "href=", "url(", "@import", "http://", "https://", "style=\"", " on"} {
			for _, found := range regexp.MustCompile(`<[^>]*>`).FindAllString(page, -1) {
				if strings.Contains(strings.ToLower(found), foreign) {
					t.Errorf("%s: found %q in %s", name, foreign, found)
				}
			}
			if foreign != " on" && strings.Contains(styleSheet.FindString(page), foreign) {
				t.Errorf("%s: found %q in its style", name, foreign)
			}
		}
		for _, must := range []string{"<!doctype html>", `lang="en-GB"`, `charset="utf-8"`, "width=device-width", "default-src 'none'", "@page { size: A4", "prefers-color-scheme: dark", "break-before: page"} {
			if !strings.Contains(page, must) {
				t.Errorf("%s: expected %q", name, must)
			}
		}
	}
}

func TestEmptyPagesSayWhy(t *testing.T) {
	shop := plans.Bench()
	shop.Jobs = nil
	made := pages(t, papersOf(shop))
	if !strings.Contains(made["pick list"], "No job is booked for Monday 1 March 2027") || !strings.Contains(made["cards"], "No job is booked for this day") {
		t.Errorf("found\n%s\n%s", made["pick list"], made["cards"])
	}
}

// hostile are texts that would be more than text if anything let them.
var hostile = []string{
	`<script>alert(1)</script>`, `</style><script>alert(1)</script>`, `</title><img src=x onerror=alert(1)>`, `" onmouseover="alert(1)`, `' autofocus onfocus='alert(1)`,
	`<!--`, `]]>`, `&lt;script&gt;`, `{{.Job}}`, `javascript:alert(1)`, `=HYPERLINK("x")`, "a\x00b", "a\u202eb", "\xff\xfe", "</td></tr></table>", strings.Repeat("W", 4000),
}

// named is the shop with a text wherever people type one.
func named(shop inventory.Shop, text string) inventory.Shop {
	shop.Settings.Workshop = text
	for i := range shop.Items {
		shop.Items[i].Name, shop.Items[i].Bin = text, text
	}
	for i := range shop.Lots {
		shop.Lots[i].Code = text
	}
	for i := range shop.Models {
		shop.Models[i].Name = text
	}
	for i := range shop.Services {
		shop.Services[i].Name = text
	}
	for i := range shop.Setups {
		shop.Setups[i].Note, shop.Setups[i].Compression = text, text
	}
	for i := range shop.Jobs {
		shop.Jobs[i].Code, shop.Jobs[i].Unit = text, text
	}
	return shop
}

// shape is a page without what its elements hold.
func shape(page string) string {
	var tags []string
	for _, found := range tag.FindAllString(styleSheet.ReplaceAllString(page, ""), -1) {
		name := strings.FieldsFunc(found, func(r rune) bool { return r == ' ' || r == '<' || r == '>' })
		tags = append(tags, name[0])
	}
	return strings.Join(tags, " ")
}

// Whatever people type, a page has the elements that it would have had with
// harmless names, and shows the text as it was typed.
func TestNamesStayText(t *testing.T) {
	harmless := pages(t, papersOf(named(plans.Bench(), "Larch")))
	for _, text := range hostile {
		for name, page := range pages(t, papersOf(named(plans.Bench(), text))) {
			if got, want := shape(page), shape(harmless[name]); got != want {
				t.Errorf("%s named %.40q has other elements:\n%.600s\nexpected\n%.600s", name, text, got, want)
			}
			if words := html.UnescapeString(tag.ReplaceAllString(page, "")); !strings.Contains(words, reports.Plain(text)) {
				t.Errorf("%s named %.40q does not show it", name, text)
			}
		}
	}
}

func TestAnyNameStaysText(t *testing.T) {
	harmless := pages(t, papersOf(named(plans.Bench(), "Larch")))
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String().Draw(t, "text")
		if reports.Plain(text) == "" {
			return // a blank name gives way to the code
		}
		for name, page := range pages(t, papersOf(named(plans.Bench(), text))) {
			if got, want := shape(page), shape(harmless[name]); got != want {
				t.Fatalf("%s has other elements:\n%s\nexpected\n%s", name, got, want)
			}
		}
	})
}
