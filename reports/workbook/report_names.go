package workbook

import (
	"fmt"
	"strings"
	"unicode/utf16"

	"circlip/reports"
)

// tabRunes is how many UTF-16 units a tab's name may have.
const tabRunes = 31

// tabNames gives every sheet a tab name that spreadsheets accept and that no
// other has: at most 31 UTF-16 units, none of []:*?/\, no ' at either end, not
// the word History, different without regard to case. The program's own tabs
// keep their names; suppliers give way.
func tabNames(sheets []reports.Sheet) []string {
	taken := map[string]bool{"history": true, ordersMemory: true, deliveryMemory: true}
	names := make([]string, len(sheets))
	for _, supplier := range []bool{false, true} {
		for i, s := range sheets {
			if isOrder(s) == supplier {
				names[i] = freeName(legalName(s.Name), taken)
				taken[strings.ToLower(names[i])] = true
			}
		}
	}
	return names
}

// isOrder reports whether a sheet is an order that a person may change.
func isOrder(s reports.Sheet) bool {
	for _, c := range s.Columns {
		if c.Edit {
			return true
		}
	}
	return false
}

// legalName is the nearest name that a tab may have, whoever else has it.
func legalName(name string) string {
	name = strings.Map(func(r rune) rune {
		if strings.ContainsRune(`[]:*?/\`, r) {
			return ' '
		}
		return r
	}, reports.Plain(name))
	name = tidyName(cutUTF16(strings.Join(strings.Fields(name), " "), tabRunes))
	if name == "" {
		return "Order"
	}
	return name
}

// freeName numbers a name that is taken, within the length.
func freeName(name string, taken map[string]bool) string {
	free := name
	for n := 2; taken[strings.ToLower(free)]; n++ {
		suffix := fmt.Sprintf(" (%d)", n)
		free = tidyName(cutUTF16(name, tabRunes-len(suffix))) + suffix
	}
	return free
}

// tidyName takes from the ends what may not stand there.
func tidyName(name string) string { return strings.Trim(name, "' ") }

// cutUTF16 keeps as many whole characters as fit into so many UTF-16 units.
func cutUTF16(s string, most int) string {
	units := 0
	for i, r := range s {
		if units += utf16.RuneLen(r); units > most {
			return s[:i]
		}
	}
	return s
}

// quotedTab is a tab's name as it stands in a formula.
func quotedTab(name string) string { return "'" + strings.ReplaceAll(name, "'", "''") + "'" }

// footText is a text as it stands in the foot of a page, where & begins a
// command and digits after a font size would belong to it.
func footText(s string) string {
	return " " + strings.ReplaceAll(cutUTF16(s, 60), "&", "&&")
}
