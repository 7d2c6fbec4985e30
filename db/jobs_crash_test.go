//go:build unix

package db_test

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"circlip/db"
	"circlip/db/dbtest"
	"circlip/db/local"
	"circlip/inventory"
)

// crashClient makes the test binary a client of a crash test instead: "HOME
// WORKSHOP NUMBER", a process of its own that can be killed.
const crashClient = "DB_TEST_CRASH_CLIENT"

func TestMain(m *testing.M) {
	if who := os.Getenv(crashClient); who != "" {
		if err := workUntilKilled(who); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	os.Exit(m.Run())
}

// diary is what a client wrote down: an act before it was asked for, and its
// answer when it had one. It outlives the client.
type diary struct{ path string }

func (d diary) write(line string) error {
	f, err := os.OpenFile(d.path, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	defer f.Close()
	_, err = f.WriteString(line + "\n")
	return err
}

// entry is one act of a diary; answered is empty where the client did not live
// to see the answer.
type entry struct {
	key          uuid.UUID
	seed, window uint64
	answered     string
}

func (d diary) read() (entries []entry, err error) {
	f, err := os.Open(d.path)
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	} else if err != nil {
		return nil, err
	}
	defer f.Close()
	for lines := bufio.NewScanner(f); lines.Scan(); {
		what, rest, _ := strings.Cut(lines.Text(), " ")
		switch what {
		case "begin":
			var e entry
			var key string
			if _, err := fmt.Sscan(rest, &key, &e.seed, &e.window); err != nil {
				return nil, err
			}
			e.key = uuid.MustParse(key)
			entries = append(entries, e)
		case "answer":
			entries[len(entries)-1].answered = rest
		}
	}
	return entries, nil
}

// workUntilKilled first asks again for what it did not see answered, under the
// same key, and then acts at random.
func workUntilKilled(who string) error {
	var home string
	var workshop int64
	var number uint64
	if _, err := fmt.Sscan(who, &home, &workshop, &number); err != nil {
		return err
	}
	server, err := local.Open(context.Background(), home)
	if err != nil {
		return err
	}
	store, err := db.Open(context.Background(), server.DSN())
	if err != nil {
		return err
	}
	book := diary{fmt.Sprintf("%s-client-%d", home, number)}
	past, err := book.read()
	if err != nil {
		return err
	}
	if n := len(past); n > 0 && past[n-1].answered == "" {
		if err := act(store, workshop, book, past[n-1]); err != nil {
			return err
		}
	}
	for n := uint64(len(past)); ; n++ {
		e := entry{uuid.New(), number<<32 + n, uint64(time.Now().Unix()) / 3, ""}
		if err := book.write(fmt.Sprint("begin ", e.key, " ", e.seed, " ", e.window)); err != nil {
			return err
		}
		if err := act(store, workshop, book, e); err != nil {
			return err
		}
	}
}

// act does an act of a diary and writes its answer down. A database that stays
// away is asked again.
func act(store *db.Store, workshop int64, book diary, e entry) error {
	asked := jobsAct(rand.New(rand.NewPCG(e.seed, e.window)), e.window)
	for {
		done, err := store.Do(context.Background(), workshop, e.key, asked)
		if errors.Is(err, inventory.ErrUnavailable) {
			continue
		}
		if err != nil && refusalOf(err) == nil {
			return fmt.Errorf("%#v: %w", asked, err)
		}
		return book.write(fmt.Sprintf("answer %T %v%s", asked, err == nil, movesOf(done)))
	}
}

func movesOf(done db.Done) (all string) {
	for _, m := range done.Moved {
		all += fmt.Sprintf(" %s/%s#%d", m.Item, m.Lot, m.Seq)
	}
	return all
}

// jobsAct draws an act on scarce items and on the jobs of a moment.
func jobsAct(r *rand.Rand, window uint64) db.Act {
	items := []string{"seal", "wiper", "oil"}
	r.Shuffle(3, func(i, j int) { items[i], items[j] = items[j], items[i] })
	job := func() string { return fmt.Sprintf("W%d-%d", window%100_000, r.IntN(25)) }
	var some []db.Line
	for _, item := range items[:1+r.IntN(3)] {
		some = append(some, db.Line{Item: item, Qty: inventory.Quantity(1 + r.IntN(4))})
	}
	one := some[:1]
	switch r.IntN(22) {
	case 0, 1, 2, 3:
		return db.BookJob{Job: job(), Unit: "U1", Services: []string{"fork service"}, On: day(2), Bench: day(3 + r.IntN(9))}
	case 4, 5, 6:
		return db.SetAside{Job: job(), On: day(2), Lines: some}
	case 7:
		return db.SetAsideAll{On: day(2), Jobs: []db.JobLines{{Job: fmt.Sprintf("W%d-0", window%100_000), Lines: some}, {Job: fmt.Sprintf("W%d-1", window%100_000), Lines: some}}}
	case 8, 9, 10:
		return db.CloseJob{Job: job(), By: "Ann", On: day(4), Used: some, Wasted: one, Reading: &inventory.Reading{Hours: 7}}
	case 11:
		return db.CancelJob{Job: job(), NoShow: r.IntN(2) == 0, On: day(4)}
	case 12:
		return db.MoveJob{Job: job(), On: day(3), Bench: day(5 + r.IntN(9))}
	case 13, 14, 20, 21:
		from, to := job(), job()
		if from == to {
			to += "0"
		}
		return db.TakeOver{From: from, Job: to, Reason: "it leaves first", On: day(3)}
	case 15:
		return db.Take{Job: job(), On: day(3), Lines: one}
	case 16:
		return db.CorrectJob{Job: job(), Less: []db.Line{{Item: items[0], Qty: 1}}, Reason: "miscounted", On: day(5)}
	case 17:
		return db.Count{Item: items[0], Found: inventory.Quantity(r.IntN(30)), On: day(3)}
	}
	return db.Receive{Item: items[0], Lot: string(rune('A' + r.IntN(4))), Qty: inventory.Quantity(1 + r.IntN(9)), On: day(1), Expires: day(30)}
}

// crashTime is CIRCLIP_CRASH_SECONDS, or 15 s.
func crashTime(t *testing.T) time.Duration {
	text := os.Getenv("CIRCLIP_CRASH_SECONDS")
	if text == "" {
		return 15 * time.Second
	}
	seconds, err := strconv.Atoi(text)
	if err != nil || seconds < 5 {
		t.Fatalf("CIRCLIP_CRASH_SECONDS: found %q, expected 5 or more", text)
	}
	return time.Duration(seconds) * time.Second
}

// crashShop is a shop on a server of its own whose commits last, with a folder
// for the diaries beside it.
func crashShop(t *testing.T) (s *shop, home string) {
	t.Helper()
	if os.Getenv("CIRCLIP_SKIP_DB") == "1" && os.Getenv("CI") == "" {
		t.Skip("NOT CHECKED: CIRCLIP_SKIP_DB")
	}
	dir, err := os.MkdirTemp("", "circlip-crash-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.RemoveAll(dir) })
	if err := os.Chmod(dir, 0o755); err != nil { // the server's account must be able to pass
		t.Fatal(err)
	}
	home = filepath.Join(dir, "home")
	s = &shop{dsn: openServer(t, home)}
	s.Store, s.admin = dbtest.OpenDSN(t, s.dsn), dbtest.Connect(t, s.dsn)
	s.workshop = s.another(t)
	return s, home
}

func openServer(t *testing.T, home string) (dsn string) {
	t.Helper()
	server, err := local.Open(t.Context(), home)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = server.Close() })
	return server.DSN()
}

func startClient(t *testing.T, home string, workshop int64, number int) *exec.Cmd {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), fmt.Sprintf("%s=%s %d %d", crashClient, home, workshop, number))
	cmd.Stderr = os.Stderr
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	return cmd
}

// killClient is kill -9. A client that ended by itself met what it did not
// expect, and has said so.
func killClient(t *testing.T, c *exec.Cmd) {
	t.Helper()
	_ = c.Process.Kill()
	_ = c.Wait()
	if !c.ProcessState.Sys().(syscall.WaitStatus).Signaled() {
		t.Errorf("a client ended by itself: %s", c.ProcessState)
	}
}

func killPostgres(t *testing.T, home string) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(home, "pgdata", "postmaster.pid"))
	if err != nil {
		t.Fatal(err)
	}
	pid, err := strconv.Atoi(strings.SplitN(string(text), "\n", 2)[0])
	if err != nil {
		t.Fatal(err)
	}
	if err := syscall.Kill(pid, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
}

// Eight processes at one scarce shelf, of which one after another is killed and
// comes back, and once the database is. What was answered is there, nothing else
// is, and Check is clean.
func TestACrowdThatIsKilled(t *testing.T) {
	s, home := crashShop(t)
	clients := make([]*exec.Cmd, crowdSize)
	for i := range clients {
		clients[i] = startClient(t, home, s.workshop, i)
	}
	began, whole, killed, felled := time.Now(), crashTime(t), 0, false
	for time.Since(began) < whole {
		time.Sleep(rand.N(600 * time.Millisecond))
		if !felled && time.Since(began) > whole/2 {
			killPostgres(t, home)
			felled = true
			openServer(t, home) // whoever is first brings it back
		}
		who := rand.IntN(crowdSize)
		killClient(t, clients[who])
		clients[who] = startClient(t, home, s.workshop, who)
		killed++
	}
	for _, c := range clients {
		killClient(t, c)
	}
	s.admin = dbtest.Connect(t, s.dsn)
	s.mustHaveAll(t, home, killed)
	s.mustBeSound(t)
	s.mustHaveLocked(t)
}

const recordedActsSQL = `
SELECT a.act::text, NOT a.result ? 'refused', coalesce(string_agg(' ' || m.item || '/' || m.lot || '#' || m.seq, '' ORDER BY m.item, m.lot, m.seq), '')
FROM circlip.act AS a LEFT JOIN circlip.movement AS m USING (workshop, act) WHERE workshop = $1 GROUP BY a.act, a.result`

// recordedAct is an act as the database has it.
type recordedAct struct {
	Key   string
	Done  bool
	Moved string
}

// mustHaveAll holds the diaries against the database, both ways.
func (s *shop) mustHaveAll(t *testing.T, home string, killed int) {
	t.Helper()
	recorded := map[string]recordedAct{}
	for _, a := range collect(t, s.admin, pgx.RowToStructByPos[recordedAct], recordedActsSQL, s.workshop) {
		recorded[a.Key] = a
	}
	outcomes, asked, unseen := map[string]int{}, map[string]bool{}, 0
	for number := range crowdSize {
		past, err := diary{fmt.Sprintf("%s-client-%d", home, number)}.read()
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range past {
			asked[e.key.String()] = true
			a, is := recorded[e.key.String()]
			if e.answered == "" {
				unseen++ // its client was killed last and did not come back
				continue
			}
			kind := strings.Fields(e.answered)[0]
			if want := fmt.Sprint(kind, " ", a.Done, a.Moved); !is || e.answered != want {
				t.Errorf("act %s: found %q recorded, expected the answer %q", e.key, want, e.answered)
			}
			outcomes[fmt.Sprint(kind, " ", a.Done)]++
		}
	}
	for key := range recorded {
		if !asked[key] {
			t.Errorf("act %s: found it recorded, expected only what somebody asked for", key)
		}
	}
	t.Logf("%d kills, %d acts, %d without an answer: %v", killed, len(recorded), unseen, outcomes)
	for _, kind := range []string{"db.BookJob true", "db.SetAside true", "db.SetAsideAll true", "db.CloseJob true", "db.CancelJob true", "db.MoveJob true",
		"db.TakeOver true", "db.Take true", "db.Count true", "db.Receive true", "db.CorrectJob true", "db.CloseJob false", "db.SetAside false"} {
		if outcomes[kind] < 2 {
			t.Errorf("%s was reached %d times, expected more", kind, outcomes[kind])
		}
	}
}
