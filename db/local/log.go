//go:build unix

package local

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"syscall"
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
	f, err := os.OpenFile(s.log(), os.O_APPEND|os.O_CREATE|os.O_WRONLY|syscall.O_NOFOLLOW, 0o600)
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
	f, err := os.OpenFile(s.log(), os.O_RDWR|syscall.O_NOFOLLOW, 0)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	defer f.Close()
	if info, err := f.Stat(); err != nil || info.Size() <= logLimit {
		return err
	}
	tail, err := readTail(f, logLimit)
	if err != nil {
		return err
	}
	old := s.log() + ".old"
	// A new file, not whatever the name may lead to.
	if err := os.Remove(old); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if err := os.WriteFile(old, tail, 0o600); err != nil {
		return err
	}
	return errors.Join(ownLikeFolder(old), f.Truncate(0))
}

// logTail is the end of the log, for an error.
func (s site) logTail() string {
	f, err := os.Open(s.log())
	if err != nil {
		return err.Error()
	}
	defer f.Close()
	tail, err := readTail(f, 2000)
	if err != nil {
		return err.Error()
	}
	return lastLines(tail, 5)
}

func readTail(f *os.File, bytes int64) ([]byte, error) {
	end, err := f.Seek(0, io.SeekEnd)
	if err != nil {
		return nil, err
	}
	return io.ReadAll(io.NewSectionReader(f, max(0, end-bytes), bytes))
}
