package inventory

import "errors"

// The kinds of refusal that callers decide on. Errors of the program wrap one
// of them with what was found, what was expected, and where.
var (
	// ErrNotFound: no such thing in this workshop.
	ErrNotFound = errors.New("not found")
	// ErrConflict: the books already say something else.
	ErrConflict = errors.New("conflict")
	// ErrShort: less is there than was asked for.
	ErrShort = errors.New("short")
	// ErrInvalid: the input breaks a rule of the book.
	ErrInvalid = errors.New("invalid")
	// ErrUnavailable: the database cannot be reached.
	ErrUnavailable = errors.New("database unavailable")
)
