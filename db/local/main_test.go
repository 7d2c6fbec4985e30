//go:build unix

package local

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

// helperHome makes the test binary a user of the server in that home instead: a process of its own that can be killed.
const helperHome = "LOCAL_TEST_HOME"

func TestMain(m *testing.M) {
	if home := os.Getenv(helperHome); home != "" {
		if err := helper(home); err != nil {
			fmt.Println(err)
			os.Exit(1)
		}
		return
	}
	code := m.Run()
	if pristine.home != "" {
		_ = os.RemoveAll(pristine.home)
	}
	os.Exit(code)
}

// helper opens the server, adds a row, says so, and closes it when its standard input ends.
func helper(home string) error {
	ctx := context.Background()
	s, err := Open(ctx, home)
	if err != nil {
		return err
	}
	if err := addRow(ctx, s); err != nil {
		return err
	}
	fmt.Println("in use")
	_, _ = io.Copy(io.Discard, os.Stdin)
	return s.Close()
}

func addRow(ctx context.Context, s *Server) error {
	conn, err := pgx.Connect(ctx, s.DSN())
	if err != nil {
		return err
	}
	defer conn.Close(ctx)
	// Two processes that make the table at once would collide in the catalogue.
	_, err = conn.Exec(ctx, `
		DO $$ BEGIN
			PERFORM pg_advisory_xact_lock(1);
			CREATE TABLE IF NOT EXISTS visits (pid int);
		END $$;
		INSERT INTO visits VALUES (pg_backend_pid())`)
	return err
}

// process is a helper that runs.
type process struct {
	t     *testing.T
	cmd   *exec.Cmd
	stdin io.WriteCloser
	lines *bufio.Reader
}

// startHelper starts a helper, which begin waits for.
func startHelper(t *testing.T, home string, change ...func(*exec.Cmd)) *process {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), helperHome+"="+home)
	cmd.Stderr = os.Stderr
	for _, c := range change {
		c(cmd)
	}
	stdin, err := cmd.StdinPipe()
	must(t, err)
	stdout, err := cmd.StdoutPipe()
	must(t, err)
	must(t, cmd.Start())
	return &process{t, cmd, stdin, bufio.NewReader(stdout)}
}

// begun waits until the helper uses the server.
func (p *process) begun() *process {
	p.t.Helper()
	if line, err := p.lines.ReadString('\n'); err != nil || line != "in use\n" {
		rest, _ := io.ReadAll(p.lines)
		p.t.Fatalf("helper: found %q %s(%v), expected it to open the server", line, rest, err)
	}
	return p
}

// end lets the helper close the server and waits for it.
func (p *process) end() {
	p.t.Helper()
	_ = p.stdin.Close()
	rest, _ := io.ReadAll(p.lines)
	if err := p.cmd.Wait(); err != nil {
		p.t.Errorf("helper: %v: %s", err, rest)
	}
}

// kill is kill -9.
func (p *process) kill() {
	_ = p.cmd.Process.Kill()
	_ = p.cmd.Wait()
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// inMemory is where tests keep clusters, for speed; "" is the folder for temporary files.
func inMemory() string {
	if info, err := os.Stat("/dev/shm"); err == nil && info.Mode().Perm()&0o002 != 0 {
		return "/dev/shm"
	}
	return ""
}

// openDir is a temporary folder in memory that every account may pass through, unlike t.TempDir.
func openDir(t testing.TB) string { return openDirIn(t, inMemory()) }

// openDirIn is openDir elsewhere. What still runs below it when the test ends is killed.
func openDirIn(t testing.TB, root string) string {
	t.Helper()
	dir, err := os.MkdirTemp(root, "circlip-local-test-")
	must(t, err)
	must(t, os.Chmod(dir, 0o755))
	t.Cleanup(func() {
		_ = filepath.WalkDir(dir, func(path string, _ os.DirEntry, _ error) error {
			if filepath.Base(path) == "pgdata" {
				s := siteOf(filepath.Dir(path))
				endOrphans(s.name(), s.data())
				return filepath.SkipDir
			}
			return nil
		})
		_ = os.RemoveAll(dir)
	})
	return dir
}

var pristine struct {
	sync.Once
	home string
	err  error
}

// newHome is the path of a home with a cluster of its own, copied because making one takes much longer.
func newHome(t testing.TB) string {
	t.Helper()
	pristine.Do(func() {
		if pristine.home, pristine.err = os.MkdirTemp(inMemory(), "circlip-pristine-"); pristine.err != nil {
			return
		}
		pristine.err = os.Chmod(pristine.home, 0o755)
		s, err := Open(context.Background(), pristine.home)
		if err != nil {
			pristine.err = err
			return
		}
		pristine.err = s.Close()
	})
	must(t, pristine.err)
	home := filepath.Join(openDir(t), "home")
	copyTree(t, pristine.home, home)
	return home
}

func copyTree(t testing.TB, from, to string) {
	t.Helper()
	if out, err := exec.Command("cp", "-a", from, to).CombinedOutput(); err != nil {
		t.Fatalf("cp: %v: %s", err, out)
	}
}

// opened opens the server in home and closes it at the end of the test at the latest.
func opened(t testing.TB, home string) *Server {
	t.Helper()
	s, err := Open(t.Context(), home)
	must(t, err)
	t.Cleanup(func() { must(t, s.Close()) })
	return s
}

// ask runs one query that gives one text.
func ask(t testing.TB, s *Server, query string) string {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), s.DSN())
	must(t, err)
	defer conn.Close(t.Context())
	var answer string
	must(t, conn.QueryRow(t.Context(), query).Scan(&answer))
	return answer
}

func visits(t testing.TB, s *Server) string {
	t.Helper()
	return ask(t, s, "SELECT count(*)::text FROM visits")
}

func siteOf(home string) site { return site{home: home, system: thisSystem()} }

// running is the process id of home's server, or 0 when none runs.
func running(t testing.TB, home string) int {
	t.Helper()
	p, there, err := siteOf(home).postmaster()
	must(t, err)
	if !there || !siteOf(home).lives(p) {
		return 0
	}
	return p.pid
}

// expectStopped fails when anything of the server is left.
func expectStopped(t testing.TB, home string) {
	t.Helper()
	if pid := running(t, home); pid != 0 {
		t.Errorf("server: found process %d running, expected it stopped", pid)
	}
	if siteOf(home).held() {
		t.Error("cluster: found it held by a process, expected none")
	}
	if _, err := os.Stat(filepath.Join(home, "pgdata", "postmaster.pid")); err == nil {
		t.Error("found postmaster.pid, expected a server that stopped in order to remove it")
	}
}

// expectSoon waits up to some seconds for what another process does in its own time.
func expectSoon(t testing.TB, what string, met func() bool) {
	t.Helper()
	for end := time.Now().Add(5 * time.Second); time.Now().Before(end); time.Sleep(2 * time.Millisecond) {
		if met() {
			return
		}
	}
	t.Fatalf("expected within 5 s: %s", what)
}

func expectContains(t testing.TB, text string, parts ...string) {
	t.Helper()
	for _, part := range parts {
		if !strings.Contains(text, part) {
			t.Errorf("found %q, expected it to say %q", text, part)
		}
	}
}

func skipUnlessRoot(t testing.TB) {
	t.Helper()
	if os.Geteuid() != 0 {
		t.Skip("NOT CHECKED: needs to run as root")
	}
}

// as makes a helper run in another account.
func as(uid, gid int) func(*exec.Cmd) {
	return func(cmd *exec.Cmd) {
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}}
	}
}
