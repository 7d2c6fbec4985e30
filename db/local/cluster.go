//go:build unix

package local

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"golang.org/x/sync/errgroup"
)

// major reads which version made the cluster; 0 when there is none.
func (s site) major() (int, error) {
	text, err := os.ReadFile(s.version())
	if errors.Is(err, fs.ErrNotExist) {
		return 0, s.noStranger()
	}
	if err != nil {
		return 0, err
	}
	major, err := strconv.Atoi(strings.TrimSpace(string(text)))
	if err != nil {
		return 0, fmt.Errorf("%s: found %q, expected a PostgreSQL major version", s.version(), text)
	}
	return major, nil
}

// noStranger refuses a data folder that is there but is no cluster: it is not ours to remove.
func (s site) noStranger() error {
	_, err := os.Lstat(s.data())
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	return fmt.Errorf("%s is there but holds no database cluster (no PG_VERSION); move it away or name another home", s.data())
}

// create makes the cluster in a folder beside its place and moves it there when it is whole. Each try has a name of its
// own: an initdb that outlived its parent may still be writing into an earlier one.
func (s site) create(ctx context.Context, p programs) error {
	halfMade, _ := filepath.Glob(s.data() + ".new-*")
	for _, dir := range halfMade {
		_ = os.RemoveAll(dir)
	}
	dir, err := os.MkdirTemp(s.home, "pgdata.new-")
	if err != nil {
		return err
	}
	err = s.initdb(ctx, p, dir)
	if err == nil {
		err = syncTree(dir)
	}
	if err != nil {
		_ = os.RemoveAll(dir)
		return err
	}
	// Whole, and from here on never removed.
	if err := os.Rename(dir, s.data()); err != nil {
		return err
	}
	return syncPath(s.home)
}

// initdb fills the empty folder dir with a cluster, which is not on the disk then.
func (s site) initdb(ctx context.Context, p programs, dir string) error {
	if err := p.account.give(dir); err != nil {
		return err
	}
	data, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer data.Close()
	// Checksums show when the disk gives back something else than was written. The socket's folder lets in nobody who may not do everything here, so passwords would guard nothing. The C locale
	// sorts the same on every system and for ever.
	cmd := p.account.command(ctx, filepath.Join(p.dir, "initdb"), "--username="+role, "--auth=trust", "--encoding=UTF8",
		"--locale=C", "--data-checksums", "--no-instructions", "--no-sync")
	p.account.handOver(cmd, data)
	out, err := cmd.CombinedOutput()
	// Killed with its children, which would say so in other words.
	if ctx.Err() != nil {
		return fmt.Errorf("making the database cluster: %w", context.Cause(ctx))
	}
	if err != nil {
		return fmt.Errorf("making the database cluster in %s with %s: %w: %s", dir, cmd.Path, err, lastLines(out, 5))
	}
	return nil
}

// syncTree writes all files and folders below root through to the disk, as initdb does one after the other. Several at
// once share the disk's work: with a busy one that takes a tenth of a second instead of one or two.
func syncTree(root string) error {
	var files errgroup.Group
	files.SetLimit(16)
	err := filepath.WalkDir(root, func(path string, _ fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		files.Go(func() error { return syncPath(path) })
		return nil
	})
	return errors.Join(err, files.Wait())
}

// syncPath writes a file, or the names in a folder, through to the disk.
func syncPath(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// lastLines is the end of what a program said, where it says why it gave up.
func lastLines(out []byte, n int) string {
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	return strings.Join(lines[max(0, len(lines)-n):], "; ")
}
