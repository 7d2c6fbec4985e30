package main

import (
	"encoding/json"
	"strings"
	"testing"
)

// guards puts every trigger of the ledger to sleep for what a superuser does,
// as somebody would who has the server's files, and wakes them again.
const (
	guardsAsleep = `
CREATE TEMP TABLE guard AS
	SELECT tgrelid::regclass::text AS kept, tgname, tgenabled FROM pg_trigger JOIN pg_class AS c ON c.oid = tgrelid
	WHERE c.relnamespace = 'circlip'::regnamespace AND NOT tgisinternal;
DO $$ DECLARE g record; BEGIN
	FOR g IN SELECT * FROM guard LOOP
		EXECUTE format('ALTER TABLE %s DISABLE TRIGGER %I', g.kept, g.tgname);
	END LOOP;
END $$;`
	guardsAwake = `
DO $$ DECLARE g record; BEGIN
	FOR g IN SELECT * FROM guard LOOP
		EXECUTE format('ALTER TABLE %s ENABLE %s TRIGGER %I', g.kept, CASE g.tgenabled WHEN 'A' THEN 'ALWAYS' ELSE '' END, g.tgname);
	END LOOP;
END $$;`
)

func TestCheckNamesWhatWasTamperedWith(t *testing.T) {
	t.Parallel()
	for rule, c := range map[string]struct{ tampering, want string }{
		"a quantity changed": {
			`UPDATE circlip.movement SET qty = qty + 10 WHERE item = 'leg-oil' AND lot = 'O1' AND seq = 2`,
			"each movement carries the hash of those before it: item leg-oil lot O1 movement 2: ",
		},
		"a day changed": {
			`UPDATE circlip.movement SET happened_on = happened_on + 1 WHERE item = 'wiper-35' AND lot = 'W1' AND seq = 1`,
			"each movement carries the hash of those before it: item wiper-35 lot W1 movement 1: ",
		},
		"a movement taken out": {
			`DELETE FROM circlip.movement WHERE item = 'leg-oil' AND lot = 'O1' AND seq = 3`,
			"movements of a lot are numbered without a gap: item leg-oil lot O1 movement 4: found 4, expected 3",
		},
		"a balance changed": {
			`UPDATE circlip.balance SET on_hand = on_hand + 5 WHERE item = 'post-grease' AND lot = 'G1'`,
			"a balance is the sum of its movements: item post-grease lot G1: found 2505, expected 2500",
		},
	} {
		t.Run(rule, func(t *testing.T) {
			t.Parallel()
			dsn := database(t, "small")
			if out := done(t, "check", "--database", dsn); out != "north bench: 0 findings\n" {
				t.Fatalf("before: %s", out)
			}
			tell(t, dsn, guardsAsleep+c.tampering+";"+guardsAwake)
			o := circlip(t, "check", "--database", dsn)
			if o.status != statusRefused || !strings.HasPrefix(o.err, "circlip: the ledger breaks its rules; ") {
				t.Errorf("exit status %d, %q, expected 1 and that the ledger breaks its rules", o.status, o.err)
			}
			if !strings.Contains(o.out, "\n  "+c.want) {
				t.Errorf("found %s, expected a line that begins with %q", o.out, c.want)
			}
			sameFindings(t, o.out, dsn)
		})
	}
}

// sameFindings holds the document of check against its lines.
func sameFindings(t *testing.T, lines, dsn string) {
	t.Helper()
	o := circlip(t, "check", "--json", "--database", dsn)
	var found checkDocument
	if err := json.Unmarshal([]byte(o.out), &found); err != nil || o.status != statusRefused {
		t.Fatalf("exit status %d, %v: %s", o.status, err, o.out)
	}
	if n := strings.Count(lines, "\n  "); len(found.Findings) != n || n == 0 {
		t.Errorf("%d findings in the document, %d in the text", len(found.Findings), n)
	}
	for _, f := range found.Findings {
		if f.Workshop != "north bench" || f.Rule == "" || !strings.Contains(lines, "  "+f.Rule) {
			t.Errorf("finding %+v is not in the text", f)
		}
	}
}

func TestCheckNoticesGuardsThatSleep(t *testing.T) {
	t.Parallel()
	dsn := database(t, "small")
	tell(t, dsn, `ALTER TABLE circlip.movement DISABLE TRIGGER ALL`)
	o := circlip(t, "check", "--database", dsn)
	if o.status != statusRefused || !strings.Contains(o.out, "the ledger's guards are on") {
		t.Errorf("exit status %d: %s", o.status, o.out)
	}
}

// A database that answers and has other tables than this program's is reached:
// that it does not fit is its state.
func TestADatabaseOfAnotherVersionIsReached(t *testing.T) {
	t.Parallel()
	dsn := database(t, "small")
	tell(t, dsn, `UPDATE circlip.migration SET sha256 = 'of another program' WHERE number = 1`)
	o := circlip(t, "check", "--database", dsn)
	if o.status != statusRefused || !strings.Contains(o.err, "migrations differ") {
		t.Errorf("exit status %d and %q, expected 1 and that the migrations differ", o.status, o.err)
	}
}
