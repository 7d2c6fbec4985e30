//go:build unix

package local

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"syscall"
)

// The oldest major version that the program's SQL runs on, and the one that is fetched for a new cluster.
const (
	oldestMajor  = 15
	fetchedMajor = 18
)

// programs are a folder with postgres and initdb of one version, and an account that can run them.
type programs struct {
	dir     string
	major   int
	account account
}

// A system is what the search for server programs looks at.
type system struct {
	getenv    func(string) string
	folders   []string // patterns of folders where servers are installed
	osRelease []string // files that say which distribution this is
}

func thisSystem() system {
	return system{os.Getenv, usualFolders, []string{"/etc/os-release", "/usr/lib/os-release"}}
}

// usualFolders are where the distributions, Homebrew and the makers of installers put servers.
var usualFolders = []string{
	"/usr/lib/postgresql/*/bin", "/usr/pgsql-*/bin", "/usr/lib/postgresql*/bin", "/usr/libexec/postgresql*",
	"/opt/homebrew/opt/postgresql*/bin", "/usr/local/opt/postgresql*/bin",
	"/Applications/Postgres.app/Contents/Versions/*/bin", "/Library/PostgreSQL/*/bin", "/usr/local/pgsql*/bin",
	"/usr/bin", "/usr/local/bin",
}

// candidates lists the folders that may hold server programs, in the order to try them.
func (sys system) candidates(ctx context.Context) []string {
	if dir := sys.getenv("CIRCLIP_PG_BIN"); dir != "" {
		return []string{dir}
	}
	dirs := filepath.SplitList(sys.getenv("PATH"))
	for _, dir := range dirs {
		config := filepath.Join(dir, "pg_config")
		if !runnable(config) {
			continue
		}
		if out, err := exec.CommandContext(ctx, config, "--bindir").Output(); err == nil {
			dirs = append(slices.Clip(dirs), strings.TrimSpace(string(out)))
		}
		break
	}
	var usual []string
	for _, pattern := range sys.folders {
		found, _ := filepath.Glob(pattern)
		usual = append(usual, found...)
	}
	slices.SortStableFunc(usual, func(a, b string) int { return numberIn(b) - numberIn(a) })
	return slices.DeleteFunc(append(dirs, usual...), func(dir string) bool {
		return !filepath.IsAbs(dir) || !runnable(filepath.Join(dir, "postgres")) || !runnable(filepath.Join(dir, "initdb"))
	})
}

func runnable(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.Mode().IsRegular() && info.Mode()&0o111 != 0
}

var digits = regexp.MustCompile(`\d+`)

// numberIn is the first number in the path, by which newer versions sort before older ones.
func numberIn(path string) int {
	n, err := strconv.Atoi(digits.FindString(path))
	if err != nil {
		return 0
	}
	return n
}

// installed finds programs of the major version, or of any new enough when it is 0. The second result tells what was
// found and does not fit.
func (s site) installed(ctx context.Context, major int) (programs, []string, bool) {
	var unfit []string
	seen := map[string]bool{}
	for _, dir := range append(s.system.candidates(ctx), s.fetched(major)) {
		if real, err := filepath.EvalSymlinks(dir); err != nil || seen[real] {
			continue
		} else {
			seen[real] = true
		}
		p, err := s.probe(ctx, dir)
		switch {
		case err != nil:
			unfit = append(unfit, err.Error())
		case p.major == major, major == 0 && p.major >= oldestMajor:
			return p, nil, true
		default:
			unfit = append(unfit, fmt.Sprintf("PostgreSQL %d in %s", p.major, dir))
		}
	}
	return programs{}, unfit, false
}

// probe asks the server program for its version as each account in turn, which tells as well who can run it.
func (s site) probe(ctx context.Context, dir string) (p programs, err error) {
	for _, a := range s.accounts() {
		var out []byte
		out, err = a.command(ctx, filepath.Join(dir, "postgres"), "-V").Output()
		if err != nil {
			err = fmt.Errorf("%s as %s: %w", filepath.Join(dir, "postgres"), a.name, err)
			continue
		}
		_, version, _ := strings.Cut(string(out), ") ")
		if major := numberIn(version); major > 0 {
			return programs{dir, major, a}, nil
		}
		return p, fmt.Errorf("%s: version %q not understood", dir, out)
	}
	return p, err
}

// command prepares a server program. It gets an environment of its own: the user's PGDATA, PGOPTIONS and locale have no
// business in the server.
func (a account) command(ctx context.Context, path string, args ...string) *exec.Cmd {
	cmd := exec.CommandContext(ctx, path, args...)
	cmd.Dir = "/"
	cmd.Env = []string{"PATH=/usr/local/bin:/usr/bin:/bin", "LC_ALL=C", "TZ=UTC"}
	if libraries, ok := os.LookupEnv("LD_LIBRARY_PATH"); ok {
		cmd.Env = append(cmd.Env, "LD_LIBRARY_PATH="+libraries)
	}
	attr := a.attr
	cmd.SysProcAttr = &attr
	// A session of its own also makes a process group of what it starts in turn.
	cmd.Cancel = func() error { return syscall.Kill(-cmd.Process.Pid, syscall.SIGKILL) }
	return cmd
}

// handOver gives the command the data folder and returns by what name it knows it. The descriptor is inherited by all
// processes of the server; a lock on it tells whether any is left.
func (a account) handOver(cmd *exec.Cmd, data *os.File) {
	name := data.Name()
	if a.byDescriptor {
		name = "/proc/self/fd/3" // the first after standard error
	}
	cmd.ExtraFiles = []*os.File{data}
	cmd.Args = slices.Insert(cmd.Args, 1, "-D", name)
}
