//go:build unix

package local

import (
	"errors"
	"io"
	"os"
	"time"
)

const (
	logLimit = 1 << 20 // bytes; as much again is kept of what came before
	trimTime = time.Minute
)

// openLog opens the server's log for appending, which also holds for a file that is cut short meanwhile.
func (s site) openLog() (*os.File, error) {
	if err := s.capLog(); err != nil {
		return nil, err
	}
	f, err := os.OpenFile(s.log(), os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o600)
	if err != nil {
		return nil, err
	}
	return f, ownLikeFolder(s.log())
}

// trimLog keeps the log within bounds while a server is in use.
func (s site) trimLog(done <-chan struct{}) {
	tick := time.NewTicker(trimTime)
	defer tick.Stop()
	for {
		select {
		case <-done:
			return
		case <-tick.C:
			// A log that cannot be cut is no reason to stop the work.
			_ = s.capLog()
		}
	}
}

// capLog moves a log that has grown too long aside. The server keeps its descriptor, so the text is copied and the file
// emptied; a line written in between is lost.
func (s site) capLog() error {
	info, err := os.Stat(s.log())
	if err != nil || info.Size() <= logLimit {
		return nil
	}
	tail, err := s.readTail(logLimit)
	if err != nil {
		return err
	}
	if err := os.WriteFile(s.log()+".old", tail, 0o600); err != nil {
		return err
	}
	return errors.Join(ownLikeFolder(s.log()+".old"), os.Truncate(s.log(), 0))
}

// logTail is the end of the log, for an error.
func (s site) logTail() string {
	tail, err := s.readTail(2000)
	if err != nil {
		return err.Error()
	}
	return lastLines(tail, 5)
}

func (s site) readTail(bytes int64) ([]byte, error) {
	f, err := os.Open(s.log())
	if err != nil {
		return nil, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	if _, err := f.Seek(max(0, info.Size()-bytes), io.SeekStart); err != nil {
		return nil, err
	}
	return io.ReadAll(f)
}
