-- The ledger: what happened to stock. Lots, what is on hand of each, and the
-- movements that made it so.
--
-- Nothing here is ever changed or removed. A balance follows its lot's
-- movements and set-asides because triggers of those tables write it and
-- nothing else can; CHECKs keep it from going below zero. A movement carries
-- the hash of everything before it in its lot, and the daily seal carries the
-- newest hash of every lot, so that an edit past the triggers still shows.
--
-- Rows are locked in one order everywhere: item, expiry, receipt, lot.

CREATE TABLE lot (
    workshop    bigint NOT NULL,
    item        code NOT NULL,
    lot         code NOT NULL,
    received_on date NOT NULL,
    expires_on  date NOT NULL DEFAULT 'infinity', -- the first day it is no longer good
    unit_cost   bigint NOT NULL DEFAULT 0, -- 0: not stated
    PRIMARY KEY (workshop, item, lot),
    CONSTRAINT lot_dates_follow UNIQUE (workshop, item, lot, received_on, expires_on), -- for the balance to refer to
    CONSTRAINT lot_item_known FOREIGN KEY (workshop, item) REFERENCES item,
    CONSTRAINT lot_unit_cost CHECK (unit_cost >= 0)
);

-- The lot's dates stand here again, so that the shelf is walked and locked in
-- its order without looking elsewhere: they never change. Half of every page
-- stays free, so that a new version of a row lies beside the old one and no
-- index is touched.
CREATE TABLE balance (
    workshop    bigint NOT NULL,
    item        text COLLATE "C" NOT NULL,
    lot         text COLLATE "C" NOT NULL,
    received_on date NOT NULL,
    expires_on  date NOT NULL,
    on_hand     bigint NOT NULL DEFAULT 0,
    reserved    bigint NOT NULL DEFAULT 0, -- of on_hand, set aside for jobs
    seq         bigint NOT NULL DEFAULT 0, -- of the lot's last movement
    kept_seq    bigint NOT NULL DEFAULT 0, -- of the lot's last set-aside
    head        bytea  NOT NULL DEFAULT decode(repeat('00', 32), 'hex'), -- hash of the last movement
    PRIMARY KEY (workshop, item, lot),
    CONSTRAINT balance_lot_known FOREIGN KEY (workshop, item, lot, received_on, expires_on)
        REFERENCES lot (workshop, item, lot, received_on, expires_on),
    CONSTRAINT balance_on_hand CHECK (on_hand >= 0),
    CONSTRAINT balance_reserved CHECK (reserved >= 0 AND reserved <= on_hand),
    CONSTRAINT balance_head CHECK (octet_length(head) = 32)
) WITH (fillfactor = 50);

-- An act is one thing that somebody did, under a key of the doer's choice. It
-- is written with its answer, so that doing it again answers the same.
CREATE TABLE act (
    workshop       bigint NOT NULL,
    act            uuid NOT NULL,
    kind           text NOT NULL,
    request_sha256 bytea NOT NULL,
    result         jsonb NOT NULL,
    proof          bytea NOT NULL, -- SHA-256 over the hashes of its movements by item, lot, seq
    at             timestamptz NOT NULL DEFAULT now(),
    PRIMARY KEY (workshop, act)
);

CREATE TABLE movement (
    workshop    bigint NOT NULL,
    item        text COLLATE "C" NOT NULL,
    lot         text COLLATE "C" NOT NULL,
    seq         bigint NOT NULL, -- 1, 2, … in each lot, without a gap
    from_place  text NOT NULL,
    to_place    text NOT NULL,
    ref         text NOT NULL DEFAULT '',
    qty         bigint NOT NULL,
    happened_on date NOT NULL,
    act         uuid NOT NULL,
    reverses    bigint, -- the lot's movement that this one corrects
    recorded_at timestamptz NOT NULL DEFAULT now(),
    hash        bytea NOT NULL,
    PRIMARY KEY (workshop, item, lot, seq),
    CONSTRAINT movement_qty CHECK (qty BETWEEN 1 AND 10000000000),
    CONSTRAINT movement_places CHECK ((from_place = 'shelf') <> (to_place = 'shelf')
        AND from_place IN ('shelf', 'opening', 'supplier', 'job', 'waste', 'difference', 'kit')
        AND to_place IN ('shelf', 'opening', 'supplier', 'job', 'waste', 'difference', 'kit')),
    CONSTRAINT movement_happened_on CHECK (happened_on BETWEEN '1970-01-02' AND '2199-12-31')
);
CREATE UNIQUE INDEX movement_reversed_once ON movement (workshop, item, lot, reverses) WHERE reverses IS NOT NULL;

-- What is set aside of a lot for a job is the sum of these.
CREATE TABLE set_aside (
    workshop    bigint NOT NULL,
    item        text COLLATE "C" NOT NULL,
    lot         text COLLATE "C" NOT NULL,
    number      bigint NOT NULL, -- 1, 2, … in each lot, without a gap
    job         text COLLATE "C" NOT NULL,
    qty         bigint NOT NULL,
    why         text NOT NULL,
    happened_on date NOT NULL,
    act         uuid NOT NULL,
    recorded_at timestamptz NOT NULL DEFAULT now(),
    PRIMARY KEY (workshop, item, lot, number),
    CONSTRAINT set_aside_job_named CHECK (job <> ''),
    CONSTRAINT set_aside_why CHECK (CASE WHEN why = 'set aside' THEN qty > 0
        ELSE qty < 0 AND why IN ('taken', 'released', 'lost') END)
);
CREATE INDEX set_aside_by_job ON set_aside (workshop, job, item, lot) INCLUDE (qty);
CREATE INDEX set_aside_by_lot ON set_aside (workshop, item, lot, job) INCLUDE (qty);

CREATE VIEW kept AS
    SELECT workshop, item, lot, job, sum(qty)::bigint AS qty
    FROM set_aside GROUP BY workshop, item, lot, job HAVING sum(qty) <> 0;

-- A text with its length before it, so that two texts side by side cannot be
-- cut in two ways.
-- (Stable, not immutable, as convert_to is: so the planner can inline it.)
CREATE FUNCTION framed(body text) RETURNS bytea LANGUAGE sql STABLE PARALLEL SAFE
    RETURN int4send(octet_length(body)) || convert_to(body, 'UTF8');

-- The bytes of a movement, as inventory.Movement.Link writes them after the
-- previous hash.
CREATE FUNCTION movement_bytes(shop bigint, item text, lot text, from_place text, to_place text, ref text,
        seq bigint, qty bigint, happened_on date) RETURNS bytea LANGUAGE sql STABLE PARALLEL SAFE
    RETURN framed('v1') || framed(shop::text) || framed(item) || framed(lot) || framed(from_place) || framed(to_place)
        || framed(ref) || int8send(seq) || int8send(qty) || int8send((happened_on - DATE '1970-01-01')::bigint);

-- Refuses whatever would change the ledger. Rows that follow others are
-- written at a depth of triggers above zero and do not come here.
CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '% of % refused: the ledger is only ever added to; correct a movement by reversing it',
        TG_OP, TG_TABLE_NAME USING ERRCODE = 'CLIMM', TABLE = TG_TABLE_NAME;
END $$;

-- Gives a movement its number and hash and brings the balance along. The
-- balance row is locked from here to the end of the transaction, so that
-- movements of a lot follow each other one by one.
--
-- The balance is written before the row itself; a row that is then dropped in
-- silence by ON CONFLICT DO NOTHING would leave it wrong. Numbers are new, so
-- only a second reversal could clash, and it is refused here.
CREATE FUNCTION post_movement() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    UPDATE circlip.balance AS b
    SET on_hand = b.on_hand + CASE WHEN NEW.to_place = 'shelf' THEN NEW.qty ELSE -NEW.qty END,
        seq = b.seq + 1,
        head = sha256(b.head || circlip.movement_bytes(NEW.workshop, NEW.item, NEW.lot, NEW.from_place, NEW.to_place,
            NEW.ref, b.seq + 1, NEW.qty, NEW.happened_on))
    WHERE b.workshop = NEW.workshop AND b.item = NEW.item AND b.lot = NEW.lot
    RETURNING b.seq, b.head INTO NEW.seq, NEW.hash;
    IF NOT FOUND THEN
        RAISE EXCEPTION 'movement of item % lot %, expected a lot that was received', NEW.item, NEW.lot
            USING ERRCODE = 'foreign_key_violation', CONSTRAINT = 'movement_lot_known', TABLE = 'movement';
    END IF;
    IF NEW.reverses IS NOT NULL AND NOT EXISTS (
        SELECT FROM circlip.movement AS wrong
        WHERE wrong.workshop = NEW.workshop AND wrong.item = NEW.item AND wrong.lot = NEW.lot
          AND wrong.seq = NEW.reverses AND wrong.reverses IS NULL
          AND wrong.from_place = NEW.to_place AND wrong.to_place = NEW.from_place AND wrong.qty = NEW.qty
          AND NOT EXISTS (
            SELECT FROM circlip.movement AS earlier
            WHERE earlier.workshop = NEW.workshop AND earlier.item = NEW.item AND earlier.lot = NEW.lot
              AND earlier.reverses = NEW.reverses)) THEN
        RAISE EXCEPTION 'movement of item % lot % reverses %, expected the mirror of a movement not yet reversed',
            NEW.item, NEW.lot, NEW.reverses
            USING ERRCODE = 'check_violation', CONSTRAINT = 'movement_reverses', TABLE = 'movement';
    END IF;
    RETURN NEW;
END $$;

-- The same for a set-aside; what is set aside for one job never goes below
-- zero either.
CREATE FUNCTION post_set_aside() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    UPDATE circlip.balance AS b
    SET reserved = b.reserved + NEW.qty, kept_seq = b.kept_seq + 1
    WHERE b.workshop = NEW.workshop AND b.item = NEW.item AND b.lot = NEW.lot
    RETURNING b.kept_seq INTO NEW.number;
    IF NOT FOUND THEN
        RAISE EXCEPTION 'set-aside of item % lot %, expected a lot that was received', NEW.item, NEW.lot
            USING ERRCODE = 'foreign_key_violation', CONSTRAINT = 'set_aside_lot_known', TABLE = 'set_aside';
    END IF;
    IF NEW.qty < 0 AND NEW.qty + coalesce((
        SELECT sum(s.qty) FROM circlip.set_aside AS s
        WHERE s.workshop = NEW.workshop AND s.item = NEW.item AND s.lot = NEW.lot AND s.job = NEW.job), 0) < 0 THEN
        RAISE EXCEPTION 'set-aside of item % lot % for job %: % given back, more than was set aside', NEW.item, NEW.lot,
            NEW.job, -NEW.qty
            USING ERRCODE = 'check_violation', CONSTRAINT = 'set_aside_of_job', TABLE = 'set_aside';
    END IF;
    RETURN NEW;
END $$;

-- Every movement and set-aside belongs to an act, which is written last, with
-- its answer. A foreign key would say the same, but it sleeps in a session
-- that plays a replica, and it costs an import a quarter of its time.
CREATE FUNCTION act_known() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NOT EXISTS (SELECT FROM circlip.act AS a WHERE a.workshop = NEW.workshop AND a.act = NEW.act) THEN
        RAISE EXCEPTION '% of item % lot % belongs to act %, expected one that is recorded', TG_TABLE_NAME, NEW.item,
            NEW.lot, NEW.act USING ERRCODE = 'foreign_key_violation', CONSTRAINT = TG_NAME, TABLE = TG_TABLE_NAME;
    END IF;
    RETURN NULL;
END $$;

CREATE FUNCTION open_balance() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    INSERT INTO circlip.balance (workshop, item, lot, received_on, expires_on)
    VALUES (NEW.workshop, NEW.item, NEW.lot, NEW.received_on, NEW.expires_on);
    RETURN NULL;
END $$;

-- Triggers that fire ALWAYS also fire in a session that plays a replica.
CREATE TRIGGER post_movement BEFORE INSERT ON movement
    FOR EACH ROW WHEN (pg_trigger_depth() = 0 OR NEW.hash IS NULL) EXECUTE FUNCTION post_movement();
CREATE TRIGGER post_set_aside BEFORE INSERT ON set_aside FOR EACH ROW EXECUTE FUNCTION post_set_aside();
CREATE CONSTRAINT TRIGGER movement_act_known AFTER INSERT ON movement DEFERRABLE INITIALLY DEFERRED
    FOR EACH ROW WHEN (pg_trigger_depth() = 0) EXECUTE FUNCTION act_known();
CREATE CONSTRAINT TRIGGER set_aside_act_known AFTER INSERT ON set_aside DEFERRABLE INITIALLY DEFERRED
    FOR EACH ROW EXECUTE FUNCTION act_known();
CREATE TRIGGER open_balance AFTER INSERT ON lot FOR EACH ROW EXECUTE FUNCTION open_balance();
ALTER TABLE movement ENABLE ALWAYS TRIGGER post_movement;
ALTER TABLE set_aside ENABLE ALWAYS TRIGGER post_set_aside;
ALTER TABLE movement ENABLE ALWAYS TRIGGER movement_act_known;
ALTER TABLE set_aside ENABLE ALWAYS TRIGGER set_aside_act_known;
ALTER TABLE lot ENABLE ALWAYS TRIGGER open_balance;

CREATE TRIGGER refuse_change BEFORE INSERT OR UPDATE OR DELETE ON balance
    FOR EACH ROW WHEN (pg_trigger_depth() = 0) EXECUTE FUNCTION refuse_change();
CREATE TRIGGER refuse_truncate BEFORE TRUNCATE ON balance FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
ALTER TABLE balance ENABLE ALWAYS TRIGGER refuse_change;
ALTER TABLE balance ENABLE ALWAYS TRIGGER refuse_truncate;

DO $$
DECLARE
    kept text;
BEGIN
    FOREACH kept IN ARRAY ARRAY['lot', 'act', 'movement', 'set_aside'] LOOP
        EXECUTE format('CREATE TRIGGER refuse_change BEFORE UPDATE OR DELETE ON %I
            FOR EACH ROW EXECUTE FUNCTION refuse_change()', kept);
        EXECUTE format('CREATE TRIGGER refuse_truncate BEFORE TRUNCATE ON %I
            FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()', kept);
        EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER refuse_change', kept);
        EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER refuse_truncate', kept);
    END LOOP;
END $$;
