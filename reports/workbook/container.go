package workbook

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"strings"
)

// limits bound what a file may ask of us before and while it is read. What a
// real book reaches, and why these are the numbers, stands at standard.
type limits struct {
	file      int64  // bytes of the file
	directory int64  // bytes read to list what is in it
	entries   int    // parts in it
	unpacked  uint64 // bytes of all parts together, unpacked
	ratio     uint64 // unpacked to packed bytes of a part
	free      uint64 // unpacked bytes of a part to which ratio does not apply
	texts     int    // different texts shared by the sheets
	textBytes int    // bytes of those texts together
	rows      int    // rows of a sheet
	columns   int    // columns of a sheet
}

// container is a zip file that has passed the checks of its directory. What
// the parts hold is not known yet.
type container struct {
	parts map[string]*zip.File // by name in lower case, as names are compared
}

// openContainer lists the parts of a workbook file and refuses what is no
// workbook, or one made to harm.
func openContainer(r io.ReaderAt, size int64, lim limits) (*container, error) {
	if err := sniff(r, size); err != nil {
		return nil, err
	}
	if size > lim.file {
		return nil, fmt.Errorf("found a file of %d MiB, expected at most %d MiB", size>>20, lim.file>>20)
	}
	listed := &rationed{r: r, left: lim.directory}
	z, err := zip.NewReader(listed, size)
	if errors.Is(err, errRation) {
		return nil, fmt.Errorf("found a list of parts longer than %d KiB, expected at most %d parts", lim.directory>>10, lim.entries)
	}
	if err != nil {
		return nil, fmt.Errorf("found a damaged or cut zip container (%w), expected a whole .xlsx; take the file from its source again", err)
	}
	listed.left = -1
	c := &container{parts: make(map[string]*zip.File, len(z.File))}
	if err := c.list(z.File, uint64(size), lim); err != nil {
		return nil, err
	}
	return c, c.isWorkbook()
}

// list checks the directory as it is declared. Declared sizes can be trusted
// as upper bounds: archive/zip stops at data beyond them.
func (c *container) list(files []*zip.File, size uint64, lim limits) error {
	if len(files) > lim.entries {
		return fmt.Errorf("found %d parts, expected at most %d", len(files), lim.entries)
	}
	var packed, unpacked uint64
	for _, f := range files {
		if err := checkEntry(f, lim); err != nil {
			return err
		}
		name := strings.ToLower(f.Name)
		if c.parts[name] != nil {
			return fmt.Errorf("found the part %q twice", f.Name)
		}
		c.parts[name] = f
		packed += f.CompressedSize64
		if unpacked += f.UncompressedSize64; unpacked > lim.unpacked {
			return fmt.Errorf("found parts that unpack to more than %d MiB; save so large a book as a folder of CSV files", lim.unpacked>>20)
		}
	}
	if packed > size {
		return errors.New("found parts that overlap each other")
	}
	return nil
}

func checkEntry(f *zip.File, lim limits) error {
	switch {
	case f.Mode()&fs.ModeSymlink != 0:
		return fmt.Errorf("found a symbolic link, %q", f.Name)
	case !safeName(f.Name):
		return fmt.Errorf("found a part of the name %.60q, which leads out of the file", f.Name)
	case f.Flags&1 != 0:
		return fmt.Errorf("found the part %q encrypted; save the book without a password", f.Name)
	case f.Method != zip.Store && f.Method != zip.Deflate:
		return fmt.Errorf("found the part %q packed by method %d, expected deflate", f.Name, f.Method)
	case f.UncompressedSize64 > lim.unpacked: // also keeps the sum from overflowing
		return fmt.Errorf("found the part %q of %d MiB unpacked, expected at most %d MiB", f.Name, f.UncompressedSize64>>20, lim.unpacked>>20)
	case f.UncompressedSize64 > lim.free && f.UncompressedSize64/lim.ratio >= max(f.CompressedSize64, 1):
		return fmt.Errorf("found the part %q packed %d to 1, expected at most %d to 1: a zip bomb", f.Name, f.UncompressedSize64/max(f.CompressedSize64, 1), lim.ratio)
	}
	return nil
}

// safeName reports whether a part's name stays inside the file, however a
// system reads it: colons and backslashes mean drives and folders on some.
func safeName(name string) bool {
	clean := strings.TrimSuffix(name, "/")
	return fs.ValidPath(clean) && clean != "." && !strings.ContainsFunc(name, func(r rune) bool {
		return r < ' ' || r == '\\' || r == ':' || r == 0x7f
	})
}

// isWorkbook tells a workbook from the other things that come as zip files.
func (c *container) isWorkbook() error {
	const list = "[content_types].xml"
	switch {
	case c.parts[list] != nil && c.parts["_rels/.rels"] != nil:
		return nil
	case c.parts["mimetype"] != nil:
		return c.openDocument()
	case c.parts[list] == nil && c.parts["_rels/.rels"] == nil:
		return errors.New("found a zip file that holds no workbook, expected a book saved as .xlsx; a zip of CSV files is loaded by unpacking it and naming its folder")
	}
	return errors.New("found a workbook without its list of parts; save the book again from the spreadsheet program")
}

// openDocument names the other office format, which says what it is in its
// first part.
func (c *container) openDocument() error {
	kind := "an OpenDocument file"
	if r, err := c.open("mimetype"); err == nil {
		defer r.Close()
		text, _ := io.ReadAll(io.LimitReader(r, 100))
		if bytes.Contains(text, []byte("spreadsheet")) {
			kind = "an OpenDocument spreadsheet (.ods)"
		}
	}
	return fmt.Errorf("found %s, expected .xlsx; open it and save it as Excel 2007-365 (.xlsx)", kind)
}

// open starts to unpack a part. Reading to its end checks its checksum.
func (c *container) open(name string) (io.ReadCloser, error) {
	f := c.parts[strings.ToLower(name)]
	if f == nil {
		return nil, fmt.Errorf("found no part %q in the file", name)
	}
	return f.Open()
}

// resolve turns the target of a relationship into the name of a part: relative
// to the folder of the part that has it, or from the root of the file.
func resolve(from, target string) (string, error) {
	name := path.Join(path.Dir(from), target)
	if strings.HasPrefix(target, "/") {
		name = path.Clean(target[1:])
	}
	if !safeName(name) || strings.Contains(target, "://") {
		return "", fmt.Errorf("found a reference to %.80q outside of the file", target)
	}
	return name, nil
}

// errRation ends the listing of a directory made to fill the memory.
var errRation = errors.New("directory too long")

// rationed lets only so many bytes be read, until left is set below zero.
type rationed struct {
	r    io.ReaderAt
	left int64
}

func (m *rationed) ReadAt(b []byte, off int64) (int, error) {
	if m.left >= 0 {
		if m.left -= int64(len(b)); m.left < 0 {
			m.left = 0
			return 0, errRation
		}
	}
	return m.r.ReadAt(b, off)
}

// The first bytes of what is taken for a workbook by mistake.
var kinds = []struct{ starts, found string }{
	{"%PDF", "a PDF document, expected .xlsx"},
	{"<html", "a web page, expected .xlsx; open it in the spreadsheet program and save it as .xlsx"},
	{"<!doctype html", "a web page, expected .xlsx; open it in the spreadsheet program and save it as .xlsx"},
	{"<table", "a web page, expected .xlsx; open it in the spreadsheet program and save it as .xlsx"},
	{"<?xml", "an XML file, expected .xlsx; open it in the spreadsheet program and save it as .xlsx"},
	{"\x1f\x8b", "a gzip file, expected .xlsx; unpack it first"},
	{"7z\xbc\xaf", "a 7z archive, expected .xlsx; unpack it first"},
	{"Rar!", "a RAR archive, expected .xlsx; unpack it first"},
}

// compound is how .xls files and encrypted workbooks begin (MS-CFB, 2.2).
const compound = "\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1"

// sniff refuses what does not begin as a zip file and says what it is.
func sniff(r io.ReaderAt, size int64) error {
	head := make([]byte, min(size, 512))
	if n, err := r.ReadAt(head, 0); n < len(head) {
		return fmt.Errorf("cannot be read: %w", err)
	}
	switch text := bytes.ToLower(bytes.TrimLeft(bytes.TrimPrefix(head, []byte("\uFEFF")), " \t\r\n")); {
	case size == 0:
		return errors.New("found an empty file, expected .xlsx")
	case bytes.HasPrefix(head, []byte("PK\x03\x04")):
		return nil
	case bytes.HasPrefix(head, []byte("PK\x05\x06")):
		return errors.New("found an empty zip file, expected .xlsx")
	case bytes.HasPrefix(head, []byte(compound)):
		return sniffCompound(r, size)
	default:
		for _, k := range kinds {
			if bytes.HasPrefix(text, []byte(strings.ToLower(k.starts))) {
				return errors.New("found " + k.found)
			}
		}
	}
	if bytes.IndexByte(head, 0) < 0 && bytes.ContainsAny(head, ",;\t\n") {
		return errors.New("found a text file, expected .xlsx; a book of CSV files is loaded by naming its folder")
	}
	return fmt.Errorf("found a file that begins with % x, expected .xlsx", head[:min(len(head), 4)])
}

// sniffCompound tells an encrypted workbook from a .xls by the name of the
// stream that holds it, in UTF-16 somewhere near either end of the file.
func sniffCompound(r io.ReaderAt, size int64) error {
	const near = 1 << 20
	for _, at := range []int64{0, max(0, size-near)} {
		part := make([]byte, min(size, near))
		n, _ := r.ReadAt(part, at)
		switch part = part[:n]; {
		case bytes.Contains(part, wide("EncryptedPackage")):
			return errors.New("found a workbook encrypted with a password; save it without one")
		case bytes.Contains(part, wide("Workbook")), bytes.Contains(part, wide("Book")):
			return errors.New("found an old .xls workbook, expected .xlsx; open it and save it as .xlsx")
		}
	}
	return errors.New("found an old office document, expected .xlsx")
}

// wide is an ASCII text in UTF-16, little endian.
func wide(ascii string) []byte {
	var b []byte
	for i := range len(ascii) {
		b = append(b, ascii[i], 0)
	}
	return b
}
