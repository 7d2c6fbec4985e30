//go:build unix

package local

import (
	"context"
	"fmt"
	"iter"
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

// binVariable names the environment variable that names the folder of the programs to use, and no others.
const binVariable = "CIRCLIP_PG_BIN"

// programs are a folder with postgres and initdb of one version, and an account that can run them.
type programs struct {
	dir     string
	major   int
	account account // who was seen to be able to run them
}

// A system is what the search for server programs looks at.
type system struct {
	getenv    func(string) string
	folders   []string // patterns of folders where servers are installed
	accounts  []string // whom root may run a server as, best first
	osRelease []string // files that say which distribution this is
}

func thisSystem() system {
	return system{os.Getenv, usualFolders, []string{"postgres", "nobody"}, []string{"/etc/os-release", "/usr/lib/os-release"}}
}

// usualFolders are where the distributions, Homebrew and the makers of installers put servers.
var usualFolders = []string{
	"/usr/lib/postgresql/*/bin", "/usr/pgsql-*/bin", "/usr/lib/postgresql*/bin", "/usr/libexec/postgresql*",
	"/opt/homebrew/opt/postgresql*/bin", "/usr/local/opt/postgresql*/bin",
	"/Applications/Postgres.app/Contents/Versions/*/bin", "/Library/PostgreSQL/*/bin", "/usr/local/pgsql*/bin",
	"/usr/bin", "/usr/local/bin",
}

// candidates lists the folders where an installed server may be, in the order to try them.
func (sys system) candidates(ctx context.Context) []string {
	dirs := filepath.SplitList(sys.getenv("PATH"))
	// Debian keeps servers out of PATH but has pg_config tell where they are. It may come with a client library alone.
	if config, ok := sys.lookPath("pg_config"); ok {
		if out, err := exec.CommandContext(ctx, config, "--bindir").Output(); err == nil {
			dirs = append(dirs, strings.TrimSpace(string(out)))
		}
	}
	var usual []string
	for _, pattern := range sys.folders {
		found, _ := filepath.Glob(pattern)
		usual = append(usual, found...)
	}
	slices.SortStableFunc(usual, func(a, b string) int { return folderVersion(b) - folderVersion(a) })
	return append(dirs, usual...)
}

// lookPath finds a command in PATH.
func (sys system) lookPath(command string) (string, bool) {
	for _, dir := range filepath.SplitList(sys.getenv("PATH")) {
		if path := filepath.Join(dir, command); filepath.IsAbs(path) && runnable(path) {
			return path, true
		}
	}
	return "", false
}

// runnable says whether there is a program at path.
func runnable(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.Mode().IsRegular() && info.Mode()&0o111 != 0
}

var (
	leadingNumber = regexp.MustCompile(`^\d+`)
	version       = regexp.MustCompile(`\d+(\.\d+)*`)
)

// majorOf is the major version in a version's text, such as 15 in "15.18 (Debian 15.18-0+deb12u1)" and 19 in "19beta1";
// 0 when there is none.
func majorOf(text string) int {
	major, err := strconv.Atoi(leadingNumber.FindString(text))
	if err != nil {
		return 0
	}
	return major
}

// folderVersion is the major version that the last part of the path with a number names.
func folderVersion(path string) int {
	all := version.FindAllString(path, -1)
	if len(all) == 0 {
		return 0
	}
	return majorOf(all[len(all)-1])
}

// programs finds or fetches the programs for a cluster of the major version, or for a new one when it is 0.
func (s site) programs(ctx context.Context, major int) (programs, error) {
	p, unfit, ok := s.installed(ctx, major)
	if ok {
		return p, nil
	}
	if dir := s.system.getenv(binVariable); dir != "" {
		return p, s.unfitOverride(dir, major, unfit)
	}
	p, err := s.fetch(ctx, major)
	if err == nil {
		return p, nil
	}
	if ctx.Err() != nil {
		return p, fmt.Errorf("fetching a PostgreSQL server: %w", context.Cause(ctx))
	}
	return p, s.noServer(major, unfit, err)
}

// installed finds programs of the major version, or of any new enough when it is 0. The second result tells what was
// found and does not fit.
func (s site) installed(ctx context.Context, major int) (programs, []string, bool) {
	// All fit as well as each other for a cluster: only the major version decides whether one can read it.
	var unfit []string
	for dir := range s.folders(ctx) {
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

// folders yields those that hold server programs, each once: the one the user named, or what is installed and then what
// was fetched earlier.
func (s site) folders(ctx context.Context) iter.Seq[string] {
	all := []string{s.system.getenv(binVariable)}
	if all[0] == "" {
		all = append(s.system.candidates(ctx), s.fetched()...)
	}
	// One server may stand in PATH, be a link to another folder and match two patterns.
	seen := map[string]bool{}
	return func(yield func(string) bool) {
		for _, dir := range all {
			real, err := filepath.EvalSymlinks(filepath.Join(dir, "postgres"))
			if err != nil || seen[real] || !filepath.IsAbs(dir) || !runnable(real) || !runnable(filepath.Join(dir, "initdb")) {
				continue
			}
			seen[real] = true
			if !yield(dir) {
				return
			}
		}
	}
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
		_, said, _ := strings.Cut(string(out), ") ")
		if major := majorOf(said); major > 0 {
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
