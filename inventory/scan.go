package inventory

import (
	"fmt"
	"net/url"
	"strings"
)

// ownScheme begins what our own labels say.
const ownScheme = "circlip:"

// LabelText is what the code on a label of our own says: circlip:ITEM, or
// circlip:ITEM/LOT for a lot, each percent-escaped as one segment of a path
// (RFC 3986), so that it is plain ASCII and holds no other slash.
func LabelText(item, lot string) string {
	text := ownScheme + url.PathEscape(item)
	if lot != "" {
		text += "/" + url.PathEscape(lot)
	}
	return text
}

// ParseScan reads what was typed or scanned for an item: its code; a label of
// our own, of the item or of one of its lots; the number under a bar code (GTIN
// of 8, 12, 13 or 14 digits, with or without zeros before it); or the element
// strings of a supplier's label, see ParsePackLabel. A code of the book goes
// first. The lot is empty where none is named, and need not be one of the
// shop's: a supplier's label names what has still to be received. Errors wrap
// ErrNotFound for an item that the shop does not have, ErrConflict for a text
// that means two of them, ErrInvalid for a label that is wrong in itself.
func ParseScan(text string, shop Shop) (item, lot string, err error) {
	typed := strings.Trim(strings.TrimSpace(text), groupSeparator)
	scanned := withoutSymbology(typed)
	for _, code := range []string{typed, scanned} {
		if shop.hasItem(code) {
			return shop.unlessNumberOf(code)
		}
	}
	switch {
	case strings.HasPrefix(scanned, ownScheme):
		return shop.ownLabel(scanned)
	case isGTIN(scanned):
		item, err = shop.byGTIN(scanned)
		return item, "", err
	case looksLikeElements(scanned):
		label, err := ParsePackLabel(scanned, shop.AsOf)
		if err != nil {
			return "", "", err
		}
		if item, err = shop.byGTIN(label.GTIN); err != nil {
			return "", "", err
		}
		return item, label.Lot, nil
	}
	return "", "", fmt.Errorf("%w: found %q, expected %s", ErrNotFound, typed, scanExpected(scanned))
}

// scanExpected says what a text should have been that is no code: most likely a
// number with one digit misread, else anything that is known.
func scanExpected(text string) string {
	if gtinLength(text) && checked(text) != text {
		return "the code of an item, or the last digit of a GTIN to be " + checked(text)[len(text)-1:]
	}
	return "the code of an item, a label of it, or the number under its bar code"
}

// withoutSymbology takes off the three characters that many scanners put before
// what they read, to tell which kind of code it was: ], a letter, and a digit or
// letter (ISO/IEC 15424).
func withoutSymbology(text string) string {
	if len(text) > 3 && text[0] == ']' && letter(text[1]) && (letter(text[2]) || digit(text[2])) {
		return strings.Trim(text[3:], groupSeparator)
	}
	return text
}

func digit(b byte) bool  { return b >= '0' && b <= '9' }
func letter(b byte) bool { return b|0x20 >= 'a' && b|0x20 <= 'z' }

func (s Shop) hasItem(code string) bool {
	for _, i := range s.Items {
		if i.Code == code {
			return true
		}
	}
	return false
}

// unlessNumberOf is the item of a code, unless the same digits are the number of
// another: nobody could say which was meant.
func (s Shop) unlessNumberOf(code string) (string, string, error) {
	if !isGTIN(code) {
		return code, "", nil
	}
	for _, i := range s.Items {
		if i.Code != code && i.GTIN != "" && padded(i.GTIN) == padded(code) {
			return "", "", fmt.Errorf("%w: found %q, the code of one item and the GTIN of %s, expected one of them; scan a label of our own", ErrConflict, code, i.Code)
		}
	}
	return code, "", nil
}

// ownLabel reads what LabelText wrote.
func (s Shop) ownLabel(text string) (item, lot string, err error) {
	name, of, hasLot := strings.Cut(strings.TrimPrefix(text, ownScheme), "/")
	item, err = url.PathUnescape(name)
	if err == nil {
		lot, err = url.PathUnescape(of)
	}
	switch {
	case err != nil || item == "" || (hasLot && lot == ""), strings.Contains(of, "/"):
		return "", "", fmt.Errorf("%w: found the label %q, expected %sITEM or %sITEM/LOT; print it again", ErrInvalid, text, ownScheme, ownScheme)
	case !s.hasItem(item):
		return "", "", fmt.Errorf("%w: found a label of the item %q, expected an item of this workshop", ErrNotFound, item)
	}
	return item, lot, nil
}

// byGTIN finds the one item with the number.
func (s Shop) byGTIN(number string) (item string, err error) {
	for _, i := range s.Items {
		switch {
		case i.GTIN == "" || padded(i.GTIN) != padded(number):
		case item != "":
			return "", fmt.Errorf("%w: found the GTIN %s with the items %s and %s, expected one; type the code", ErrConflict, number, item, i.Code)
		default:
			item = i.Code
		}
	}
	if item == "" {
		return "", fmt.Errorf("%w: found the GTIN %s, expected one that an item has in the book; add it to the item or type the code", ErrNotFound, number)
	}
	return item, nil
}

// padded is a number with zeros before it to 14 digits, as which GTINs of all
// lengths compare.
func padded(gtin string) string {
	return strings.Repeat("0", max(0, 14-len(gtin))) + gtin
}

func gtinLength(text string) bool {
	n := len(text)
	return digits(text) && (n == 8 || n == 12 || n == 13 || n == 14)
}

// isGTIN reports whether a text is a Global Trade Item Number: a length that
// there is, the right check digit, and not all zeros, which pass it and name
// nothing.
func isGTIN(text string) bool {
	return gtinLength(text) && checked(text) == text && strings.Trim(text, "0") != ""
}

// checked is a number with the last digit that it should have.
func checked(number string) string {
	body := number[:len(number)-1]
	return body + string(CheckDigit(body))
}

// CheckDigit is the digit that belongs behind the others of a number of GS1: it
// brings their sum, weighted 3, 1, 3, … from the right, to a multiple of ten
// (GS1 General Specifications, check digit of data structures).
func CheckDigit(body string) byte {
	sum, weight := 0, 3
	for i := len(body) - 1; i >= 0; i-- {
		sum += weight * int(body[i]-'0')
		weight = 4 - weight
	}
	return '0' + byte((10-sum%10)%10)
}
