package db

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"
	"os"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"circlip/inventory"
)

// The conditions of PostgreSQL (appendix A of its manual) that the program
// tells apart. Those that start with CL are its own, raised by the ledger.
const (
	serializationFailure  = "40001"
	deadlockDetected      = "40P01"
	lockNotAvailable      = "55P03"
	insufficientPrivilege = "42501"
	diskFull              = "53100"
	notNullViolation      = "23502"
	foreignKeyViolation   = "23503"
	uniqueViolation       = "23505"
	checkViolation        = "23514"
	exclusionViolation    = "23P01"
	ledgerIsKept          = "CLIMM" // a change of what is append-only
	keyUsedOtherwise      = "CLKEY" // an act's key came with another request
)

// kinds says which of inventory's kinds a condition is.
var kinds = map[string]error{
	notNullViolation:    inventory.ErrInvalid,
	foreignKeyViolation: inventory.ErrNotFound,
	uniqueViolation:     inventory.ErrConflict,
	checkViolation:      inventory.ErrInvalid,
	exclusionViolation:  inventory.ErrConflict,
	ledgerIsKept:        inventory.ErrConflict,
	keyUsedOtherwise:    inventory.ErrConflict,
}

// constraintKinds says it for single constraints, where the condition alone
// would mislead.
var constraintKinds = map[string]error{
	"balance_on_hand":      inventory.ErrShort,
	"balance_reserved":     inventory.ErrShort,
	"service_still_listed": inventory.ErrConflict,
}

// explain wraps what the database reports with the kind that callers decide
// on, and with the table and constraint that it broke. Errors that are not the
// database's pass unchanged.
func explain(err error) error {
	if err == nil || isKind(err) {
		return err
	}
	if errors.Is(err, pgx.ErrNoRows) {
		return fmt.Errorf("%w: %w", inventory.ErrNotFound, err)
	}
	var reported *pgconn.PgError
	var connecting *pgconn.ConnectError
	if lostConnection(err) || errors.As(err, &connecting) {
		return fmt.Errorf("%w: %w", inventory.ErrUnavailable, err)
	}
	if errors.As(err, &reported) {
		return explainReported(err, reported)
	}
	return err
}

func explainReported(err error, reported *pgconn.PgError) error {
	if kind, ok := constraintKinds[reported.ConstraintName]; ok {
		return fmt.Errorf("%w: %s: %w", kind, rule(reported), err)
	}
	if reported.Code == foreignKeyViolation && strings.Contains(reported.Detail, "still referenced") {
		return fmt.Errorf("%w: %s: %w", inventory.ErrConflict, rule(reported), err)
	}
	if kind, ok := kinds[reported.Code]; ok {
		return fmt.Errorf("%w: %s: %w", kind, rule(reported), err)
	}
	switch {
	case reported.Code == diskFull:
		return fmt.Errorf("%w: its disk is full, nothing was saved: %w", inventory.ErrUnavailable, err)
	case passing(err):
		return fmt.Errorf("%w: %w", inventory.ErrUnavailable, err)
	case strings.HasPrefix(reported.Code, "22"): // data exception
		return fmt.Errorf("%w: %w", inventory.ErrInvalid, err)
	}
	return err
}

// rule names what was broken: the constraint's name reads as its rule.
func rule(reported *pgconn.PgError) string {
	if reported.ConstraintName == "" {
		return "table " + reported.TableName
	}
	return fmt.Sprintf("table %s, rule %s", reported.TableName, reported.ConstraintName)
}

func isKind(err error) bool {
	for _, kind := range []error{inventory.ErrNotFound, inventory.ErrConflict, inventory.ErrShort, inventory.ErrInvalid,
		inventory.ErrUnavailable} {
		if errors.Is(err, kind) {
			return true
		}
	}
	return false
}

// passing reports whether the same transaction may succeed when it is tried
// again on the same connection.
func passing(err error) bool {
	var reported *pgconn.PgError
	if !errors.As(err, &reported) {
		return false
	}
	switch reported.Code {
	case serializationFailure, deadlockDetected, lockNotAvailable:
		return true
	}
	return false
}

// lostConnection reports whether the database could not be reached or stopped
// answering. The transaction may or may not have been committed.
func lostConnection(err error) bool {
	var reported *pgconn.PgError
	if errors.As(err, &reported) {
		switch {
		case strings.HasPrefix(reported.Code, "08"): // connection exception
			return true
		case strings.HasPrefix(reported.Code, "57P"): // the server is stopping or starting
			return true
		}
		return reported.Code == "53300" // too many connections
	}
	if err == nil || errors.Is(err, context.Canceled) {
		return false
	}
	// A file that is read for a load or written by a save: the system's error
	// in it would pass for a network's.
	var file *fs.PathError
	var link *os.LinkError
	if errors.As(err, &file) || errors.As(err, &link) {
		return false
	}
	var network net.Error
	var connecting *pgconn.ConnectError
	return errors.As(err, &connecting) || errors.As(err, &network) || errors.Is(err, io.EOF) ||
		errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, net.ErrClosed) || pgconn.SafeToRetry(err) ||
		strings.Contains(err.Error(), "conn closed")
}
