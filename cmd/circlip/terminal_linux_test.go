package main

import (
	"fmt"
	"io"
	"os"
	"os/exec"
	"strings"
	"testing"

	"golang.org/x/sys/unix"
)

// terminal is a pseudo-terminal: what is written to the one end is read from
// the other as a terminal would get it.
func terminal(t *testing.T) (screen, end *os.File) {
	t.Helper()
	screen, err := os.OpenFile("/dev/ptmx", os.O_RDWR, 0)
	if err != nil {
		t.Skipf("SKIPPED: no pseudo-terminal to be had: %v", err)
	}
	t.Cleanup(func() { _ = screen.Close() })
	number, err := unix.IoctlGetInt(int(screen.Fd()), unix.TIOCGPTN)
	if err != nil {
		t.Fatal(err)
	}
	if err := unix.IoctlSetPointerInt(int(screen.Fd()), unix.TIOCSPTLCK, 0); err != nil {
		t.Fatal(err)
	}
	end, err = os.OpenFile(fmt.Sprintf("/dev/pts/%d", number), os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		t.Fatal(err)
	}
	return screen, end
}

// onScreen runs the program with standard error on a terminal, and returns
// what came there and what came on standard output.
func onScreen(t *testing.T, args ...string) (screen, out string, status int) {
	t.Helper()
	near, far := terminal(t)
	var stdout strings.Builder
	cmd := exec.Command("circlip", args...)
	cmd.Stdout, cmd.Stderr = &stdout, far
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	if err := far.Close(); err != nil {
		t.Fatal(err)
	}
	seen, _ := io.ReadAll(near)     // ends with an error once nobody has the far end
	status = exitStatus(cmd.Wait()) // only then all of the output is there
	return string(seen), stdout.String(), status
}

// shown is what is left on a line of the screen after what was written over it
// or erased.
func shown(screen string) string {
	var lines []string
	for _, line := range strings.Split(strings.ReplaceAll(screen, "\r\n", "\n"), "\n") {
		if at := strings.LastIndex(line, "\r"); at >= 0 {
			line = line[at+1:]
		}
		if at := strings.LastIndex(line, "\x1b[2K"); at >= 0 {
			line = line[at+len("\x1b[2K"):]
		}
		lines = append(lines, strings.TrimSpace(line))
	}
	return strings.TrimSpace(strings.Join(lines, "\n"))
}

// A person who waits sees how far it is; nothing of that stays on the screen
// or gets into a file.
func TestProgressIsForPeople(t *testing.T) {
	t.Parallel()
	dsn := database(t, "demo")
	screen, out, status := onScreen(t, "load", "../../testdata/demo", "--database", dsn)
	if status != statusDone || !strings.Contains(screen, "reading the book") {
		t.Errorf("exit status %d, on the screen %q, expected progress", status, screen)
	}
	if left := shown(screen); left != "" {
		t.Errorf("left on the screen: %q", left)
	}
	if strings.ContainsAny(out, "\r\x1b") || strings.Contains(out, "reading the book") {
		t.Errorf("progress among the results: %q", out)
	}
	piped := circlip(t, "load", "../../testdata/demo", "--database", dsn)
	if piped.err != "" || piped.out != out {
		t.Errorf("without a terminal: messages %q and results %q, expected none and %q", piped.err, piped.out, out)
	}
}

// Messages come after the progress is cleared away, each on its own line.
func TestFaultsOnATerminal(t *testing.T) {
	t.Parallel()
	bad := smallFiles(t).with(t, "stock.csv", "R1,30", "R1,-30").folder(t)
	screen, out, status := onScreen(t, "load", bad, "--database", database(t, "small"))
	want := `stock:3:qty: negative, found "-30", expected a quantity of 0 or more with a decimal point` + "\ncirclip: 1 fault, nothing was loaded"
	if left := shown(screen); status != statusRefused || out != "" || left != want {
		t.Errorf("exit status %d, output %q, left on the screen: %q", status, out, left)
	}
}

// The weeks played are counted for whoever waits, and for nobody else.
func TestARehearsalShowsHowFarItIs(t *testing.T) {
	t.Parallel()
	args := []string{"rehearse", "--generate", "--weeks", "1", "--warm-up", "1", "--units", "4", "--customers", "2", "--walk-ins", "0"}
	screen, out, status := onScreen(t, args...)
	if status != statusDone || !strings.Contains(screen, "weeks played of 2") {
		t.Errorf("exit status %d, on the screen %q, expected progress", status, screen)
	}
	if left := shown(screen); left != "" {
		t.Errorf("left on the screen: %q", left)
	}
	if piped := circlip(t, args...); piped.err != "" || piped.out != out {
		t.Errorf("without a terminal: messages %q and results %q, expected none and %q", piped.err, piped.out, out)
	}
}
