package workbook

import (
	"bytes"
	"fmt"
	"io"
	"strings"
)

const (
	relationships = "http://schemas.openxmlformats.org/package/2006/relationships"
	rootRels      = "_rels/.rels"
	workbookName  = "workbook"
)

// relation is one reference of a part to another. Types are addresses; the
// strict and the usual format differ in all but the last word.
type relation struct {
	kind   string // last word of its type: worksheet, sharedStrings, …
	target string // name of the part
}

// outline finds the worksheets and the shared texts: from the file's root to
// the workbook part, and from there by the references the parts give.
func (b *Book) outline() error {
	root, err := b.relations("", rootRels)
	if err != nil {
		return err
	}
	var workbook string
	for _, rel := range root {
		if rel.kind == "officeDocument" {
			workbook = rel.target
		}
	}
	if b.parts.parts[strings.ToLower(workbook)] == nil {
		return fmt.Errorf("found no workbook part in the file, expected a book saved as .xlsx")
	}
	if strings.HasSuffix(workbook, ".bin") {
		return fmt.Errorf("found a binary workbook (.xlsb), expected .xlsx; open it and save it as .xlsx")
	}
	folder, file := workbook[:strings.LastIndex(workbook, "/")+1], workbook[strings.LastIndex(workbook, "/")+1:]
	rels, err := b.relations(workbook, folder+"_rels/"+file+".rels")
	if err != nil {
		return err
	}
	if err := b.readPart(workbook, "workbook", func(p *part) error { return b.readWorkbook(p, rels) }); err != nil {
		return err
	}
	return b.sharedTexts(rels)
}

// relations reads the references that a part gives, by their id.
func (b *Book) relations(from, name string) (map[string]relation, error) {
	rels := make(map[string]relation)
	err := b.readPart(name, "list of references", func(p *part) error {
		if !p.root("Relationships", relationships) {
			return p.err
		}
		for el, ok := p.child(); ok; el, ok = p.child() {
			if string(el) != "Relationship" {
				p.fail("found <%s> among the references", el)
				break
			}
			if err := addRelation(rels, from, p); err != nil {
				return err
			}
			p.skip()
		}
		return p.finish()
	})
	return rels, err
}

// addRelation reads one reference. A broken one is refused though it may not
// be needed: with it a sheet might go missing, and nobody would see.
func addRelation(rels map[string]relation, from string, p *part) error {
	id, kind := string(p.attr("Id")), string(p.attr("Type"))
	if id == "" || kind == "" || rels[id].kind != "" {
		return fmt.Errorf("%w: found a reference %q without an id and type of its own", errDamaged, id)
	}
	rel := relation{kind: kind[strings.LastIndex(kind, "/")+1:]}
	switch mode := string(p.attr("TargetMode")); mode {
	case "", "Internal":
		var err error
		if rel.target, err = resolve(from, string(p.attr("Target"))); err != nil {
			return err
		}
	case "External": // a link; nothing we read may be one
	default:
		return fmt.Errorf("%w: found a reference of the mode %.20q, expected Internal or External", errDamaged, mode)
	}
	rels[id] = rel
	return nil
}

// readWorkbook reads the names of the sheets and where they lie.
func (b *Book) readWorkbook(p *part, rels map[string]relation) error {
	if !p.root(workbookName, mainNamespace, strictNamespace) {
		return p.err
	}
	for el, ok := p.child(); ok; el, ok = p.child() {
		switch string(el) {
		case "workbookPr":
			if err := b.readEpoch(p.attr("date1904")); err != nil {
				return err
			}
			p.skip()
		case "sheets":
			if err := b.readSheets(p, rels); err != nil {
				return err
			}
		default:
			p.skip()
		}
	}
	if p.finish(); p.err == nil && len(b.sheets) == 0 {
		p.fail("found no sheets")
	}
	return p.err
}

// The first day of the 1904 system is day 1462 of the 1900 system.
func (b *Book) readEpoch(date1904 []byte) error {
	switch string(date1904) {
	case "", "0", "false":
	case "1", "true":
		b.since = 1462
	default:
		return fmt.Errorf("%w: found date1904=%.20q, expected 0 or 1", errDamaged, date1904)
	}
	return nil
}

func (b *Book) readSheets(p *part, rels map[string]relation) error {
	seen := make(map[string]bool)
	for el, ok := p.child(); ok; el, ok = p.child() {
		if string(el) != "sheet" {
			p.fail("found <%s> among the sheets", el)
			break
		}
		name := string(p.attr("name"))
		if seen[tableName(name)] {
			return fmt.Errorf("found two sheets named %q, expected one", name)
		}
		seen[tableName(name)] = true
		if err := b.addSheet(name, p, rels); err != nil {
			return err
		}
		p.skip()
	}
	return p.err
}

// addSheet takes up one sheet of the list. Charts, and the dialogs and macros
// of old, are sheets, too, but hold no cells.
func (b *Book) addSheet(name string, p *part, rels map[string]relation) error {
	var id []byte
	for _, a := range p.attrs {
		if bytes.HasSuffix(a.name, []byte(":id")) {
			id = a.value
		}
	}
	rel := rels[string(id)]
	switch {
	case name == "":
		return fmt.Errorf("%w: found a sheet without a name", errDamaged)
	case rel.kind == "chartsheet" || rel.kind == "dialogsheet" || rel.kind == "xlMacrosheet":
		return nil
	case rel.kind != "worksheet":
		return fmt.Errorf("%w: sheet %s: found no worksheet behind the reference %q", errDamaged, name, id)
	case b.parts.parts[strings.ToLower(rel.target)] == nil:
		return fmt.Errorf("sheet %s: found no part %q in the file that should hold it", name, rel.target)
	}
	hidden := false
	switch state := string(p.attr("state")); state {
	case "", "visible":
	case "hidden", "veryHidden":
		hidden = true
		b.warnings = append(b.warnings, fmt.Sprintf("sheet %s is hidden; it is read like the others", name))
	default:
		return fmt.Errorf("%w: sheet %s: found the state %.20q, expected visible or hidden", errDamaged, name, state)
	}
	b.sheets = append(b.sheets, sheetPart{name: tableName(name), part: rel.target, title: name, hidden: hidden})
	return nil
}

// sharedTexts reads the texts that the sheets share, where there are any.
func (b *Book) sharedTexts(rels map[string]relation) error {
	var target string
	for _, rel := range rels {
		if rel.kind == "sharedStrings" {
			if target != "" && rel.target != target {
				return fmt.Errorf("%w: found two parts of shared texts", errDamaged)
			}
			target = rel.target
		}
	}
	if target == "" {
		return nil
	}
	return b.readPart(target, "shared texts", func(p *part) (err error) {
		b.texts, err = readTexts(p, b.lim)
		return err
	})
}

// readPart opens a part, reads it and says in an error which one it was.
func (b *Book) readPart(name, what string, read func(*part) error) error {
	raw, err := b.parts.open(name)
	if err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	defer raw.Close()
	watch := &stopwatch{r: io.Reader(raw), limit: readingTime}
	watch.start()
	if err := read(newPart(watch)); err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	return nil
}
