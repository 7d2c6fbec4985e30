//go:build unix

package local

import (
	"context"
	"errors"
	"fmt"
	"os"
	"syscall"
	"time"
)

// A lock is a file locked with flock. The kernel frees it when its holder ends in whatever way, which is why locks and
// not process ids tell who is there. It is not handed on to programs that this one starts.
type lock struct{ file *os.File }

const (
	shared    = syscall.LOCK_SH // beside others that hold it so
	exclusive = syscall.LOCK_EX // alone
)

// acquire takes the lock at path, waiting for it until ctx ends.
func acquire(ctx context.Context, path string, how int) (*lock, error) {
	// Root in a user's home must not be led elsewhere by a link.
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|syscall.O_NOFOLLOW, 0o600)
	if err != nil {
		return nil, err
	}
	if err := ownLikeFolder(path); err != nil {
		return nil, errors.Join(err, f.Close())
	}
	l := &lock{f}
	// A blocking flock cannot be given up when ctx ends, hence the polling.
	for wait := time.Millisecond; ; wait = min(2*wait, 10*time.Millisecond) {
		err := l.try(how)
		if err == nil {
			return l, nil
		}
		if !errors.Is(err, syscall.EWOULDBLOCK) {
			return nil, errors.Join(fmt.Errorf("lock %s: %w", path, err), f.Close())
		}
		select {
		case <-ctx.Done():
			return nil, errors.Join(fmt.Errorf("another process keeps %s locked: %w", path, context.Cause(ctx)), f.Close())
		case <-time.After(wait):
		}
	}
}

// try changes how the lock is held, or fails with EWOULDBLOCK; a shared lock may then be lost.
func (l *lock) try(how int) error {
	for {
		err := syscall.Flock(int(l.file.Fd()), how|syscall.LOCK_NB)
		if !errors.Is(err, syscall.EINTR) {
			return err
		}
	}
}

// release unlocks before it closes: a program that another part of this process is just starting may hold a copy of the
// descriptor for a moment.
func (l *lock) release() error {
	return errors.Join(l.try(syscall.LOCK_UN), l.file.Close())
}
