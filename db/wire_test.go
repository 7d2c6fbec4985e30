package db_test

import (
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"net"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"circlip/db/dbtest"
)

// fault is what happens to a call on its way to the server.
type fault string

const (
	answeredWithError fault = "answered with an error"
	lostBefore        fault = "connection lost before the server had it"
	lostAfter         fault = "connection lost after the server had done it"
)

var everyFault = []fault{answeredWithError, lostBefore, lostAfter}

// wire stands between a store and the server and spoils one call: a start of a
// session, or everything up to a Sync or a simple Query, which is what the
// server answers in one go (PostgreSQL's manual, 55.2 Message Flow).
type wire struct {
	server string // path of its socket

	mu     sync.Mutex
	calls  int // since it was armed
	spoil  int // the call to spoil, from 1; 0 for none
	how    fault
	onHit  func()
	wasHit bool
}

// newWire listens in a folder of its own and returns the dsn that leads
// through it.
func newWire(t testing.TB, dsn string) (*wire, string) {
	t.Helper()
	dir, err := os.MkdirTemp("", "wire") // short: the path of a socket has 107 bytes
	if err != nil {
		t.Fatal(err)
	}
	w := &wire{server: dbtest.Socket(t)}
	listener, err := net.Listen("unix", filepath.Join(dir, filepath.Base(w.server)))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = listener.Close(); _ = os.RemoveAll(dir) })
	go func() {
		for {
			conn, err := listener.Accept()
			if err != nil {
				return
			}
			go w.serve(conn)
		}
	}()
	return w, strings.Replace(dsn, filepath.Dir(w.server), dir, 1)
}

// arm spoils the n-th call from now on, once, and calls onHit when it does.
func (w *wire) arm(n int, how fault, onHit func()) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.calls, w.spoil, w.how, w.onHit, w.wasHit = 0, n, how, onHit, false
}

// hit reports whether the armed call came.
func (w *wire) hit() bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.wasHit
}

func (w *wire) next() (fault, func()) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.calls++
	if w.spoil == 0 || w.calls != w.spoil {
		return "", nil
	}
	w.wasHit = true
	return w.how, w.onHit
}

func (w *wire) serve(client net.Conn) {
	defer func() { _ = client.Close() }()
	server, err := net.Dial("unix", w.server)
	if err != nil {
		return
	}
	defer func() { _ = server.Close() }()
	for first := true; ; first = false {
		call, err := readCall(client, first)
		if err != nil {
			return
		}
		how, onHit := w.next()
		if how == answeredWithError {
			_, _ = client.Write(errorAnswer(first))
			onHit()
			if first {
				return
			}
			continue
		}
		if how == lostBefore {
			onHit()
			return
		}
		if _, err := server.Write(call); err != nil {
			return
		}
		answer, err := readAnswer(server)
		if how == lostAfter {
			onHit()
			return
		}
		if _, writeErr := client.Write(answer); err != nil || writeErr != nil {
			return
		}
	}
}

// readCall reads messages up to one that the server answers by ReadyForQuery.
func readCall(client net.Conn, first bool) ([]byte, error) {
	if first {
		return readMessage(client, 0)
	}
	var call []byte
	for {
		message, err := readMessage(client, 1)
		if err != nil {
			return nil, err
		}
		call = append(call, message...)
		if kind := message[0]; kind == 'S' || kind == 'Q' || kind == 'X' {
			return call, nil
		}
	}
}

// readAnswer reads what the server says until it is ready for the next query.
func readAnswer(server net.Conn) (answer []byte, err error) {
	for {
		message, err := readMessage(server, 1)
		answer = append(answer, message...)
		if err != nil || message[0] == 'Z' {
			return answer, err
		}
	}
}

// readMessage reads a message whose length stands after so many bytes of type.
func readMessage(conn net.Conn, typed int) ([]byte, error) {
	head := make([]byte, typed+4)
	if _, err := io.ReadFull(conn, head); err != nil {
		return nil, err
	}
	body := make([]byte, binary.BigEndian.Uint32(head[typed:])-4)
	_, err := io.ReadFull(conn, body)
	return append(head, body...), err
}

// errorAnswer is an ErrorResponse with a condition that no retry heals, and
// ReadyForQuery when a session is there.
func errorAnswer(first bool) []byte {
	body := []byte("SERROR\x00VERROR\x00CXX000\x00Mspoiled on the wire\x00\x00")
	if first {
		body = []byte("SFATAL\x00VFATAL\x00CXX000\x00Mspoiled on the wire\x00\x00")
	}
	message := binary.BigEndian.AppendUint32([]byte{'E'}, uint32(len(body)+4))
	message = append(message, body...)
	if first {
		return message
	}
	return append(message, 'Z', 0, 0, 0, 5, 'I')
}

// TestTheWireSpoilsOneCall is the test of the test: each fault reaches the
// client as what it says.
func TestTheWireSpoilsOneCall(t *testing.T) {
	dsn := dbtest.Migrated(t)
	for how, done := range map[fault]int64{answeredWithError: 0, lostBefore: 0, lostAfter: 1} {
		t.Run(string(how), func(t *testing.T) {
			w, through := newWire(t, dsn)
			conn := dbtest.Connect(t, through)
			w.arm(1, how, func() {})
			name := fmt.Sprint("shop ", how)
			if _, err := conn.Exec(context.Background(), `INSERT INTO circlip.workshop (name) VALUES ('`+name+`')`); err == nil {
				t.Error("found no error, expected one")
			}
			direct := dbtest.Connect(t, dsn)
			got := collect(t, direct, rowToInt, `SELECT count(*) FROM circlip.workshop WHERE name = $1`, name)
			if got[0] != done || !w.hit() {
				t.Errorf("found %d rows written, expected %d", got[0], done)
			}
		})
	}
}
