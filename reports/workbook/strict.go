package workbook

import (
	"bytes"
	"errors"
	"io"
)

// Limits of one XML part. A cell holds at most 32,767 UTF-16 units; written
// as character references of the longest kind that is under 320 KiB.
const (
	windowBytes  = 16 << 10
	tokenBytes   = 512 << 10
	elementDepth = 200
	elementCount = 32 << 20 // a sheet as large as we take has 30 million; one made of empty ones would cost seconds
	tagAttrs     = 100
)

// errDamaged is wrapped by every refusal of a part's XML.
var errDamaged = errors.New("damaged XML")

// part reads one XML part of a workbook in one pass, holding no more than a
// window of it. It is narrower than XML on purpose: UTF-8 only, no DOCTYPE, no
// entities but the five of XML, no processing instructions, plain ASCII names.
// Whatever it accepts, encoding/xml accepts as the same elements (the tests
// hold it to that); the reverse is not meant to hold.
//
// The first failure sticks in err and ends everything, as with bufio.Scanner:
// child reports false, text is empty.
type part struct {
	r          io.Reader
	buf        []byte // the window; buf[pos:end] is not read yet
	pos, end   int
	before     int64 // bytes of the part that slid out of the window
	readErr    error
	err        error
	prefix     string // namespace prefix of the root, with its colon
	names      []byte // names of the open elements, one after the other
	open       []element
	elements   int // read so far
	attrs      []attribute
	chars      []byte // text of the last characters event
	decoded    []byte // where chars lie when they had to be decoded
	collected  []byte // where text() gathers
	selfClosed bool   // the tag just read was <name/>: its end comes next
	rooted     bool   // the root element has been entered
}

type element struct {
	start    int  // where its name starts in part.names
	preserve bool // xml:space in force
}

type attribute struct{ name, value []byte }

type event int

const (
	nothing event = iota // the end of the part, or a failure
	startTag
	endTag
	characters
)

func newPart(r io.Reader) *part {
	return &part{r: r, buf: make([]byte, windowBytes)}
}

// root reads up to the root element, which must have the name, in one of the
// namespaces.
func (p *part) root(name string, namespaces ...string) bool {
	if !p.declaration() {
		return false
	}
	e := p.next()
	for e == characters {
		e = p.next()
	}
	if e != startTag {
		return p.fail("found no element, expected <%s>", name) // keeps an earlier failure
	}
	tag := p.current()
	if i := bytes.IndexByte(tag, ':'); i >= 0 {
		p.prefix = string(tag[:i+1])
	}
	found := string(p.attr(p.declares()))
	if string(tag[len(p.prefix):]) != name {
		return p.fail("found the root element <%s>, expected <%s>", tag, name)
	}
	for _, ns := range namespaces {
		if found == ns {
			return true
		}
	}
	return p.fail("found <%s> of the namespace %.100q, expected %q", tag, found, namespaces[0])
}

// declares is the attribute that gives the root's prefix its namespace.
func (p *part) declares() string {
	if p.prefix == "" {
		return "xmlns"
	}
	return "xmlns:" + p.prefix[:len(p.prefix)-1]
}

// child moves to the next child of the current element; ok is false at the
// end of the current element, which then is left. The name of an element of
// the root's namespace comes without its prefix, any other with it (with a
// colon alone where it has none). Text between the children must be blank.
func (p *part) child() (name []byte, ok bool) {
	for {
		switch p.next() {
		case startTag:
			return p.childName()
		case characters:
			if text := trimBlank(p.chars); len(text) > 0 {
				p.fail("found the text %.40q between the elements", text)
				return nil, false
			}
		default:
			return nil, false
		}
	}
}

func (p *part) childName() (name []byte, ok bool) {
	for _, a := range p.attrs {
		if string(a.name) == p.declares() {
			p.fail("found another namespace declared at <%s>", p.current())
			return nil, false
		}
	}
	name = p.current()
	switch {
	case bytes.HasPrefix(name, []byte(p.prefix)) && bytes.IndexByte(name[len(p.prefix):], ':') < 0:
		return name[len(p.prefix):], true
	case bytes.IndexByte(name, ':') < 0:
		return append([]byte{':'}, name...), true
	}
	return name, true
}

// text is the text of the current element, which must hold nothing else, and
// leaves the element. It is valid until the next call.
func (p *part) text() []byte {
	p.collected = p.collected[:0]
	for {
		switch p.next() {
		case characters:
			if p.collected = append(p.collected, p.chars...); len(p.collected) > tokenBytes {
				p.fail("found a text of more than %d bytes", tokenBytes)
			}
		case startTag:
			p.fail("found <%s> inside a text", p.current())
			return nil
		default:
			return p.collected
		}
	}
}

// skip leaves the current element, whatever it holds.
func (p *part) skip() {
	for depth := 1; depth > 0; {
		switch p.next() {
		case startTag:
			depth++
		case endTag:
			depth--
		case nothing:
			return
		}
	}
}

// finish reads on to the end of the part: only there a cut or a wrong
// checksum shows.
func (p *part) finish() error {
	for p.err == nil && p.next() != nothing {
	}
	return p.err
}

// attr is the value of an attribute of the element just entered, nil where it
// has none.
func (p *part) attr(name string) []byte {
	for _, a := range p.attrs {
		if string(a.name) == name {
			return a.value
		}
	}
	return nil
}

// preserves reports whether blanks at the ends of the current element's text
// count.
func (p *part) preserves() bool {
	return len(p.open) > 0 && p.open[len(p.open)-1].preserve
}

// next is the next event. Text comes decoded and checked.
func (p *part) next() event {
	if p.err != nil {
		return nothing
	}
	if p.selfClosed {
		p.selfClosed = false
		p.leave()
		return endTag
	}
	for {
		n := p.index('<')
		switch {
		case n > 0:
			return p.characters(n)
		case n < 0:
			return p.atEnd()
		}
		if e, ok := p.markup(); ok {
			return e
		}
	}
}

// atEnd is what is left behind the last tag: nothing, or a part cut short.
func (p *part) atEnd() event {
	switch {
	case p.err != nil:
	case len(p.open) > 0:
		p.fail("the part ends inside <%s>", p.current())
	case len(trimBlank(p.buf[p.pos:p.end])) > 0:
		p.fail("found text behind the last element")
	}
	return nothing
}

// characters takes the next n bytes as text.
func (p *part) characters(n int) event {
	raw := p.buf[p.pos : p.pos+n]
	if !p.decode(raw) {
		return nothing
	}
	if len(p.open) == 0 && len(trimBlank(p.chars)) > 0 {
		p.fail("found text outside of the root element")
		return nothing
	}
	p.pos += n
	return characters
}

// markup reads what starts with the < at pos. A comment is no event.
func (p *part) markup() (e event, ok bool) {
	if !p.has(2) {
		p.fail("the part ends in a tag")
		return nothing, true
	}
	switch p.buf[p.pos+1] {
	case '/':
		return p.endTag(), true
	case '!':
		return p.bang()
	case '?':
		p.fail("found a processing instruction")
		return nothing, true
	}
	return p.startTag(), true
}

// bang reads a comment or a CDATA section and refuses everything else that
// starts with <!, a DOCTYPE above all: it can define entities.
func (p *part) bang() (e event, ok bool) {
	switch {
	case p.starts("<!--"):
		n := p.until("-->", 4)
		if n < 0 {
			return nothing, true
		}
		body := p.buf[p.pos+4 : p.pos+n-3]
		if bytes.Contains(body, []byte("--")) || bytes.HasSuffix(body, []byte("-")) || !p.decode(bytes.ReplaceAll(body, []byte("&"), nil)) {
			p.fail("found a comment that XML does not allow")
			return nothing, true
		}
		p.pos += n
		return nothing, false
	case p.starts("<![CDATA["):
		n := p.until("]]>", 9)
		if n < 0 {
			return nothing, true
		}
		e = p.cdata(p.buf[p.pos+9 : p.pos+n-3])
		p.pos += n
		return e, true
	case p.starts("<!DOCTYPE"):
		p.fail("found a DOCTYPE, which a workbook never has")
	default:
		p.fail("found <! and no comment")
	}
	return nothing, true
}

// cdata takes a CDATA section's body as text: no entities, the same rules
// else.
func (p *part) cdata(body []byte) event {
	if len(p.open) == 0 {
		p.fail("found text outside of the root element")
		return nothing
	}
	if !p.decode(bytes.ReplaceAll(body, []byte("&"), []byte("&amp;"))) {
		return nothing
	}
	return characters
}

func (p *part) endTag() event {
	n := p.index('>')
	if n < 0 {
		p.fail("the part ends in a tag")
		return nothing
	}
	name := p.buf[p.pos+2 : p.pos+n]
	for len(name) > 0 && isBlank(name[len(name)-1]) {
		name = name[:len(name)-1]
	}
	if len(p.open) == 0 || !bytes.Equal(name, p.current()) {
		p.fail("found </%.40s>, expected the end of <%s>", name, p.current())
		return nothing
	}
	p.pos += n + 1
	p.leave()
	return endTag
}

func (p *part) leave() {
	last := len(p.open) - 1
	p.names = p.names[:p.open[last].start]
	p.open = p.open[:last]
}

// current is the name of the innermost open element, with its prefix.
func (p *part) current() []byte {
	if len(p.open) == 0 {
		return nil
	}
	return p.names[p.open[len(p.open)-1].start:]
}

// startTag reads <name attributes> or <name attributes/>.
func (p *part) startTag() event {
	n := p.tagEnd()
	if n < 0 {
		p.fail("the part ends in a tag")
		return nothing
	}
	tag := p.buf[p.pos+1 : p.pos+n]
	if p.selfClosed = len(tag) > 0 && tag[len(tag)-1] == '/'; p.selfClosed {
		tag = tag[:len(tag)-1]
	}
	name := tag[:nameLen(tag)]
	switch {
	case len(name) == 0:
		p.fail("found <%.20q, expected a tag", tag)
	case len(p.open) == 0 && p.rooted:
		p.fail("found a second root element <%s>", name)
	case len(p.open) == elementDepth:
		p.fail("found elements nested more than %d deep", elementDepth)
	case p.elements == elementCount:
		p.reject("found more than %d elements in a part", elementCount)
	case p.attributes(tag[len(name):]):
		p.pos += n + 1
		p.enter(name)
		return startTag
	}
	return nothing
}

func (p *part) enter(name []byte) {
	e := element{start: len(p.names), preserve: p.preserves()}
	switch space := p.attr("xml:space"); string(space) {
	case "":
	case "default":
		e.preserve = false
	case "preserve":
		e.preserve = true
	default:
		p.fail("found xml:space=%.20q, expected preserve or default", space)
	}
	p.names = append(p.names, name...)
	p.open = append(p.open, e)
	p.elements++
	p.rooted = true
}
