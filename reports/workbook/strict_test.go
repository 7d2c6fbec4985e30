package workbook

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// ours lists what part sees in a document: +name attributes, -name, text.
func ours(r io.Reader) (events []string, err error) {
	p := newPart(r)
	if !p.declaration() {
		return nil, p.err
	}
	for {
		switch p.next() {
		case startTag:
			line := "+" + string(p.current())
			for _, a := range p.attrs {
				line += fmt.Sprintf(" %s=%q", a.name, a.value)
			}
			events = append(events, line)
		case endTag:
			events = append(events, "-")
		case characters:
			if len(p.open) > 0 {
				events = appendChars(events, string(p.chars))
			}
		case nothing:
			if p.err == nil && !p.rooted {
				return nil, errors.New("no root element")
			}
			return events, p.err
		}
	}
}

// theirs lists what encoding/xml sees in a document.
func theirs(r io.Reader) (events []string, err error) {
	d := xml.NewDecoder(r)
	full := func(n xml.Name) string {
		if n.Space == "" {
			return n.Local
		}
		return n.Space + ":" + n.Local
	}
	var open []xml.Name
	for {
		token, err := d.RawToken()
		if err == io.EOF {
			if len(open) > 0 {
				return events, io.ErrUnexpectedEOF
			}
			return events, nil
		}
		if err != nil {
			return events, err
		}
		switch token := token.(type) {
		case xml.StartElement:
			line := "+" + full(token.Name)
			for _, a := range token.Attr {
				line += fmt.Sprintf(" %s=%q", full(a.Name), a.Value)
			}
			events, open = append(events, line), append(open, token.Name)
		case xml.EndElement:
			if len(open) == 0 || open[len(open)-1] != token.Name {
				return events, fmt.Errorf("</%s> closes nothing", full(token.Name))
			}
			events, open = append(events, "-"), open[:len(open)-1]
		case xml.CharData:
			if len(open) == 0 {
				continue // blank, around the root
			}
			events = appendChars(events, string(token))
		}
	}
}

// appendChars joins neighbouring texts: where they are cut is no difference.
func appendChars(events []string, text string) []string {
	if last := len(events) - 1; last >= 0 && strings.HasPrefix(events[last], "=") {
		events[last] += text
		return events
	}
	if text == "" {
		return events
	}
	return append(events, "="+text)
}

// agree fails the test where part accepts a document that encoding/xml, Go's
// own parser, refuses or sees differently.
func agree(t interface {
	Helper()
	Fatalf(string, ...any)
}, document string) {
	t.Helper()
	got, err := ours(strings.NewReader(document))
	if err != nil {
		return
	}
	want, err := theirs(strings.NewReader(strings.TrimPrefix(document, "\uFEFF")))
	if err != nil {
		t.Fatalf("accepted %q, which encoding/xml refuses: %v", document, err)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Fatalf("%q is read differently (-encoding/xml +ours):\n%s", document, diff)
	}
}

var accepted = map[string]string{
	"elements, attributes and text":         `<a b="c" d='e'>f<g/>h</a>`,
	"the five entities and references":      `<a b="&lt;&quot;">&amp;&gt;&apos;&#65;&#x1F600;</a>`,
	"a declaration and a comment":           "<?xml version=\"1.0\" encoding=\"UTF-8\" standalone=\"yes\"?>\r\n<!-- b --><a/>\n",
	"a byte order mark":                     "\uFEFF<a/>",
	"CDATA is text":                         "<a>b<![CDATA[<c>&amp;]]>d</a>",
	"line ends become line feeds":           "<a>b\r\nc\rd\n</a>",
	"a return that is written as reference": "<a>b&#13;c</a>",
	"prefixes":                              `<x:a xmlns:x="y"><x:b z:c="d"/></x:a>`,
	"blanks inside tags":                    "<a\n b = \"c\"\t></a >",
	"a > in a value and in a text":          `<a b=">">></a>`,
	"a ] that closes nothing":               "<a>b]]c]></a>",
	"text beyond ASCII":                     "<a ä=\"ö\"/>"[0:3] + "b=\"ö\">日本\U0001F600</a>",
}

func TestPartReadsWhatXMLSays(t *testing.T) {
	for rule, document := range accepted {
		t.Run(rule, func(t *testing.T) {
			whole, err := ours(strings.NewReader(document))
			if err != nil {
				t.Fatal(err)
			}
			agree(t, document)
			bytewise, err := ours(iotest.OneByteReader(strings.NewReader(document)))
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(whole, bytewise); diff != "" {
				t.Errorf("read a byte at a time it is something else:\n%s", diff)
			}
		})
	}
}

func TestPartRefusesEveryCut(t *testing.T) {
	for rule, document := range accepted {
		last := strings.LastIndex(document, ">")
		for n := range last {
			if _, err := ours(strings.NewReader(document[:n])); err == nil {
				t.Errorf("%s: accepted the cut %q", rule, document[:n])
			}
		}
	}
}

func TestPartRefusesWhatIsNoWorkbookXML(t *testing.T) {
	long := strings.Repeat("x", tokenBytes+1)
	for _, test := range []struct{ rule, document, want string }{
		{"a document type", `<!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>`, "found a DOCTYPE, which a workbook never has, at byte 0 of the part"},
		{"an entity of its own", `<a>&b;</a>`, `found "&b;", expected a character reference, at byte 3 of the part`},
		{"an ampersand alone", `<a>b & c</a>`, `found "& c", expected a character reference, at byte 3 of the part`},
		{"a reference to no character", `<a>&#0;</a>`, `found the character U+0000, which XML does not allow, at byte 3 of the part`},
		{"a reference beyond Unicode", `<a>&#x110000;</a>`, `found "&#x110000;", expected a character reference, at byte 3 of the part`},
		{"half a character", `<a>&#xD800;</a>`, `found the character U+D800, which XML does not allow, at byte 3 of the part`},
		{"a control character", "<a>\x07</a>", `found the character U+0007, which XML does not allow, at byte 3 of the part`},
		{"a text in Latin-1", "<a>M\xfcller</a>", `found the byte 0xfc, which is not UTF-8, at byte 3 of the part`},
		{"a surrogate in UTF-8", "<a>\xed\xa0\x80</a>", `found the byte 0xed, which is not UTF-8, at byte 3 of the part`},
		{"UTF-16", "\xff\xfe<\x00a\x00/\x00>\x00", `found the encoding UTF-16, expected UTF-8, at byte 0 of the part`},
		{"UTF-16 without its mark", "<\x00a\x00/\x00>\x00", `found the encoding UTF-16, expected UTF-8, at byte 0 of the part`},
		{"another encoding", `<?xml version="1.0" encoding="ISO-8859-1"?><a/>`, `found the encoding "ISO-8859-1", expected UTF-8, at byte 0 of the part`},
		{"another version", `<?xml version="1.1"?><a/>`, `found XML version "1.1", expected 1.0, at byte 0 of the part`},
		{"a processing instruction", `<a><?b c?></a>`, `found a processing instruction, at byte 3 of the part`},
		{"crossing elements", `<a><b></a></b>`, `found </a>, expected the end of <b>, at byte 6 of the part`},
		{"an end without a start", `<a/></a>`, `found </a>, expected the end of <>, at byte 4 of the part`},
		{"two roots", `<a/><b/>`, `found a second root element <b>, at byte 4 of the part`},
		{"text behind the root", `<a/>b`, `found text behind the last element, at byte 4 of the part`},
		{"text before the root", `b<a/>`, `found text outside of the root element, at byte 0 of the part`},
		{"the same attribute twice", `<a b="c" b="d"/>`, `found the attribute b twice in one tag, at byte 0 of the part`},
		{"a value without quotes", `<a b=c/>`, `found "b=c" in a tag, expected name="value", at byte 0 of the part`},
		{"attributes without a blank", `<a b="c"d="e"/>`, `found "d=\"e\"" in a tag, expected name="value", at byte 0 of the part`},
		{"a < in a value", `<a b="<"/>`, `found < in the attribute b, at byte 0 of the part`},
		{"a < in a tag", `<a <b/>`, `found < inside a tag, at byte 0 of the part`},
		{"a name with a digit first", `<1/>`, `found <"1", expected a tag, at byte 0 of the part`},
		{"the end of CDATA in a text", `<a>]]></a>`, `found ]]> in a text, at byte 3 of the part`},
		{"a comment with --", `<a><!-- b -- c --></a>`, `found a comment that XML does not allow, at byte 3 of the part`},
		{"nesting without end", strings.Repeat("<a>", elementDepth+1), `found elements nested more than 200 deep, at byte 600 of the part`},
		{"a text without end", "<a>" + long, `found a text or tag of more than 524288 bytes, at byte 3 of the part`},
		{"a tag without end", "<a b='" + long, `found a text or tag of more than 524288 bytes, at byte 0 of the part`},
		{"an end inside an element", `<a><b>`, `the part ends inside <b>, at byte 6 of the part`},
	} {
		t.Run(test.rule, func(t *testing.T) {
			_, err := ours(strings.NewReader(test.document))
			if err == nil || !errors.Is(err, errDamaged) || strings.TrimPrefix(err.Error(), "damaged XML: ") != test.want {
				t.Errorf("got  %v\nwant damaged XML: %s", err, test.want)
			}
		})
	}
}

func TestPartCountsItsElements(t *testing.T) {
	p := newPart(strings.NewReader("<a><b/><b/></a>"))
	p.elements = elementCount - 2
	if err := p.finish(); err == nil || err.Error() != "found more than 33554432 elements in a part" {
		t.Errorf("got %v", err)
	}
}

func TestPartReportsAReaderThatFails(t *testing.T) {
	broken := errors.New("the disk is gone")
	_, err := ours(io.MultiReader(strings.NewReader("<a>"), iotest.ErrReader(broken)))
	if !errors.Is(err, broken) {
		t.Errorf("got %v, want it to wrap %v", err, broken)
	}
}

// Documents built of pieces that parsers stumble over.
func TestPartAcceptsNothingThatEncodingXMLDoesNot(t *testing.T) {
	piece := rapid.SampledFrom([]string{"<a>", "</a>", "<b c='d'>", "</b>", "<b/>", "x", "&amp;", "&", ">", "<", "\"", "'", "]]>", "]",
		"<!--", "-->", "--", "<![CDATA[", "<?xml version=\"1.0\"?>", "&#10;", "&#x;", " ", "\r", "\n", "ü", "\xff", "=", "/", "a:b", ":", "\uFEFF"})
	rapid.Check(t, func(t *rapid.T) {
		agree(t, "<a>"+strings.Join(rapid.SliceOfN(piece, 0, 12).Draw(t, "pieces"), "")+"</a>")
	})
}

// Whatever bytes come, part must not panic and may accept only what
// encoding/xml reads alike.
func FuzzPart(f *testing.F) {
	for _, document := range accepted {
		f.Add(document)
	}
	f.Fuzz(func(t *testing.T, document string) { agree(t, document) })
}
