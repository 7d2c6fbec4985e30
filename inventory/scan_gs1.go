package inventory

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"
)

// groupSeparator is how a scanner sends FNC1, the mark behind an element of no
// fixed length.
const groupSeparator = "\x1d"

// PackLabel is what the element strings on a supplier's pack say. What is not
// there is empty.
type PackLabel struct {
	GTIN       string // 14 digits
	Lot        string
	Serial     string
	Made       Date // (11); of a seal it need not be the day of its cure
	Packed     Date // (13)
	BestBefore Date // (15)
	Expires    Date // (17), as printed
}

// element is a value with the application identifier that says what it is.
type element struct{ ai, value string }

// bracketed finds identifiers as they are printed for people.
var bracketed = regexp.MustCompile(`\(\d{2,4}\)`)

// Element strings go by the first two digits of their identifiers: how long the
// identifier itself is, and for some how long all of it is, which then need no
// separator (GS1 General Specifications, element strings with a predefined
// length; GS1 Barcode Syntax Dictionary for the lengths of identifiers).
var (
	identifierDigits = map[string]int{
		"23": 3, "24": 3, "25": 3, "40": 3, "41": 3, "42": 3, "71": 3,
		"31": 4, "32": 4, "33": 4, "34": 4, "35": 4, "36": 4, "39": 4, "43": 4, "70": 4, "72": 4, "80": 4, "81": 4, "82": 4,
	} // others: 2
	predefinedLength = map[string]int{
		"00": 20, "01": 16, "02": 16, "03": 16, "04": 18,
		"11": 8, "12": 8, "13": 8, "14": 8, "15": 8, "16": 8, "17": 8, "18": 8, "19": 8, "20": 4,
		"31": 10, "32": 10, "33": 10, "34": 10, "35": 10, "36": 10, "41": 16,
	}
)

// mostOfText is the longest lot or serial number of a label.
const mostOfText = 20

// looksLikeElements reports whether a text is more likely element strings than
// anything else: it begins with an identifier in brackets or with (01) and its
// digits, holds a separator, or can be taken apart and names a GTIN.
func looksLikeElements(text string) bool {
	if at := bracketed.FindStringIndex(text); at != nil && at[0] == 0 {
		return true
	}
	if n := predefinedLength["01"]; strings.HasPrefix(text, "01") && len(text) >= n && digits(text[:n]) {
		return true
	}
	found, err := elements(text)
	return strings.Contains(text, groupSeparator) || err == nil && slices.ContainsFunc(found, func(e element) bool { return e.ai == "01" && isGTIN(e.value) })
}

// ParsePackLabel reads the element strings of a label: as printed for people,
// "(01)…(17)…(10)…", or as a scanner sends them, with the separator behind what
// has no fixed length, which the last element needs not: "01…17…10…". Without a
// separator a lot runs to the end of the text, whatever stands in it. A GTIN is
// needed; the day decides the century of years in two digits. Elements that say
// nothing here, such as weights, are passed over. Errors wrap ErrInvalid.
func ParsePackLabel(text string, today Date) (PackLabel, error) {
	label := PackLabel{}
	found, err := elements(text)
	if err != nil {
		return label, err
	}
	said := map[string]string{}
	for _, e := range found {
		if was, twice := said[e.ai]; twice && was != e.value {
			return PackLabel{}, fmt.Errorf("%w: found (%s) twice on a label, %q and %q, expected one", ErrInvalid, e.ai, was, e.value)
		}
		said[e.ai] = e.value
		if err := label.take(e, today); err != nil {
			return PackLabel{}, err
		}
	}
	if label.GTIN == "" {
		return PackLabel{}, fmt.Errorf("%w: found the label %q without a GTIN, expected (01) and its 14 digits", ErrInvalid, text)
	}
	return label, nil
}

// take reads one element.
func (l *PackLabel) take(e element, today Date) (err error) {
	day := func(to *Date) { *to, err = labelDay(e, today) }
	switch e.ai {
	case "01":
		if len(e.value) != 14 || !isGTIN(e.value) {
			return fmt.Errorf("%w: found %q behind (01), expected a GTIN of 14 digits with its check digit", ErrInvalid, e.value)
		}
		l.GTIN = e.value
	case "10":
		l.Lot, err = labelText(e)
	case "21":
		l.Serial, err = labelText(e)
	case "11":
		day(&l.Made)
	case "13":
		day(&l.Packed)
	case "15":
		day(&l.BestBefore)
	case "17":
		day(&l.Expires)
	}
	return err
}

// elements takes a label apart.
func elements(text string) ([]element, error) {
	if strings.HasPrefix(text, "(") {
		return printedElements(text)
	}
	var found []element
	rest := strings.Trim(text, groupSeparator)
	for rest != "" {
		if len(rest) < 2 || !digits(rest[:2]) {
			return nil, fmt.Errorf("%w: found %q on a label, expected an application identifier of two digits or more", ErrInvalid, rest)
		}
		first := rest[:2]
		own, end := max(2, identifierDigits[first]), predefinedLength[first]
		if end == 0 {
			end = strings.Index(rest+groupSeparator, groupSeparator)
		}
		if len(rest) < end || end <= own || strings.Contains(rest[:end], groupSeparator) {
			return nil, fmt.Errorf("%w: found %q on a label, expected more behind (%s)", ErrInvalid, rest, rest[:min(own, len(rest))])
		}
		found = append(found, element{rest[:own], rest[own:end]})
		rest = strings.TrimPrefix(rest[end:], groupSeparator)
	}
	return found, nil
}

// printedElements takes apart what is printed for people.
func printedElements(text string) (found []element, err error) {
	heads := bracketed.FindAllStringIndex(text, -1)
	if len(heads) == 0 || heads[0][0] != 0 {
		return nil, fmt.Errorf("%w: found the label %q, expected it to begin with an application identifier such as (01)", ErrInvalid, text)
	}
	for i, head := range heads {
		end := len(text)
		if i+1 < len(heads) {
			end = heads[i+1][0]
		}
		value := strings.Trim(text[head[1]:end], " "+groupSeparator)
		found = append(found, element{text[head[0]+1 : head[1]-1], value})
	}
	return found, nil
}

// labelText is a lot or a serial number: 1 to 20 of the characters that GS1
// allows in one (its set 82).
func labelText(e element) (string, error) {
	for _, r := range e.value {
		if !strings.ContainsRune(`!"%&'()*+,-./_:;<=>?`, r) && (r > 'z' || !(letter(byte(r)) || digit(byte(r)))) {
			return "", fmt.Errorf("%w: found %q behind (%s), expected letters, digits and marks of GS1's set 82", ErrInvalid, e.value, e.ai)
		}
	}
	if e.value == "" || len(e.value) > mostOfText {
		return "", fmt.Errorf("%w: found %d characters behind (%s), expected 1 to %d; where a separator was lost, type item and lot", ErrInvalid, len(e.value), e.ai, mostOfText)
	}
	return e.value, nil
}

// labelDay reads YYMMDD. A year 51 to 99 ahead of this one is of the last
// century, one 50 to 99 back of the next (GS1 General Specifications,
// determination of the century in dates). Day 00 is the last of the month: not
// allowed on labels made from 2025 on, and still to be met.
func labelDay(e element, today Date) (Date, error) {
	refused := fmt.Errorf("%w: found %q behind (%s), expected a day as YYMMDD", ErrInvalid, e.value, e.ai)
	if len(e.value) != 6 || !digits(e.value) {
		return 0, refused
	}
	two := func(at int) int { return int(e.value[at]-'0')*10 + int(e.value[at+1]-'0') }
	this := today.Time().Year()
	year, month, day := this-this%100+two(0), two(2), two(4)
	switch ahead := two(0) - this%100; {
	case ahead >= 51:
		year -= 100
	case ahead <= -50:
		year += 100
	}
	last := time.Date(year, time.Month(month)+1, 0, 0, 0, 0, 0, time.UTC).Day()
	if month < 1 || month > 12 || day > last {
		return 0, refused
	}
	if day == 0 {
		day = last
	}
	d := NewDate(year, time.Month(month), day)
	if d <= 0 || year > lastYear {
		return 0, refused
	}
	return d, nil
}
