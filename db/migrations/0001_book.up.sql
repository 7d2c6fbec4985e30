-- The book: a workshop's data as people keep it, one table a sheet.
--
-- The workshop comes first in every key, so that many workshops share one
-- database and the tables can be spread by it. Quantities are whole steps of
-- the item's measure (a piece, 0.1 ml, 0.1 g), money whole minor units of the
-- workshop's currency, unit costs ten-thousandths of a minor unit per piece,
-- millilitre or gram. Dates without an end are infinite, so that ranges can be
-- compared; every other thing not stated is NULL.
--
-- Nothing cascades: a row that something else relies on cannot be deleted.

-- A code compares byte by byte, so that every database sorts a book alike.
CREATE DOMAIN code AS text COLLATE "C"
    CONSTRAINT code_not_blank CHECK (VALUE <> '' AND VALUE = btrim(VALUE));

-- How a quantity of steps is written in its measure: 125 steps of ml are 12.5.
CREATE FUNCTION in_measure(steps bigint, measure text) RETURNS text
    LANGUAGE sql IMMUTABLE STRICT PARALLEL SAFE
    RETURN CASE measure WHEN 'ea' THEN steps::text ELSE trim_scale(steps / 10.0)::text END;

CREATE TABLE workshop (
    workshop bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    name     text COLLATE "C" NOT NULL,
    CONSTRAINT workshop_name_unique UNIQUE (name),
    CONSTRAINT workshop_name_not_blank CHECK (btrim(name) <> '')
);

CREATE TABLE setting (
    workshop bigint NOT NULL REFERENCES workshop,
    key      code NOT NULL,
    value    text NOT NULL,
    PRIMARY KEY (workshop, key)
);

CREATE TABLE supplier (
    workshop           bigint NOT NULL REFERENCES workshop,
    supplier           code NOT NULL,
    name               text NOT NULL,
    order_weekday      text,
    cutoff             text,
    lead_days          integer,
    min_order          bigint,
    carriage           bigint,
    carriage_free_from bigint,
    PRIMARY KEY (workshop, supplier),
    CONSTRAINT supplier_weekday CHECK (order_weekday IN ('mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun')),
    CONSTRAINT supplier_cutoff CHECK (cutoff ~ '^([01][0-9]|2[0-3]):[0-5][0-9]$'),
    CONSTRAINT supplier_lead_days CHECK (lead_days >= 0),
    CONSTRAINT supplier_money CHECK (min_order >= 0 AND carriage >= 0 AND carriage_free_from >= 0)
);

CREATE TABLE item (
    workshop      bigint NOT NULL REFERENCES workshop,
    item          code NOT NULL,
    name          text NOT NULL,
    kind          text NOT NULL,
    measure       text NOT NULL,
    material      text,
    shelf_months  integer,
    critical      boolean NOT NULL DEFAULT true,
    inside_mm     double precision,
    section_mm    double precision,
    hardness      double precision,
    density_kg_m3 double precision,
    viscosity_40c double precision,
    flash_point_c double precision,
    bin           text,
    gtin          text,
    PRIMARY KEY (workshop, item),
    CONSTRAINT item_measure CHECK (measure IN ('ea', 'ml', 'g')),
    CONSTRAINT item_kind CHECK (kind IN ('seal', 'wiper', 'glide-ring', 'o-ring', 'backup-ring', 'oil', 'grease',
        'solvent', 'spacer', 'bushing', 'hardware', 'kit', 'other')),
    CONSTRAINT item_shelf_months CHECK (shelf_months > 0),
    CONSTRAINT item_sizes CHECK (inside_mm > 0 AND section_mm > 0 AND hardness > 0 AND density_kg_m3 > 0
        AND viscosity_40c > 0)
);

-- Every quantity of an item counts in its measure; a new measure would change
-- what all of them mean.
CREATE FUNCTION item_measure_stays() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'item % is kept in %, found %, expected the same measure; give the new measure a new item code',
        OLD.item, OLD.measure, NEW.measure
        USING ERRCODE = 'check_violation', CONSTRAINT = 'item_measure_stays', TABLE = 'item';
END $$;

CREATE TRIGGER item_measure_stays BEFORE UPDATE OF measure ON item
    FOR EACH ROW WHEN (OLD.measure IS DISTINCT FROM NEW.measure) EXECUTE FUNCTION item_measure_stays();

CREATE TABLE offer (
    workshop      bigint NOT NULL REFERENCES workshop,
    item          code NOT NULL,
    supplier      code NOT NULL,
    from_packs    integer NOT NULL DEFAULT 1,
    supplier_code text,
    pack_qty      bigint NOT NULL,
    min_packs     integer NOT NULL DEFAULT 1,
    multiple      integer NOT NULL DEFAULT 1,
    price         bigint NOT NULL,
    lead_days     integer,
    PRIMARY KEY (workshop, item, supplier, from_packs),
    CONSTRAINT offer_item_known FOREIGN KEY (workshop, item) REFERENCES item,
    CONSTRAINT offer_supplier_known FOREIGN KEY (workshop, supplier) REFERENCES supplier,
    CONSTRAINT offer_packs CHECK (from_packs > 0 AND pack_qty > 0 AND min_packs > 0 AND multiple > 0),
    CONSTRAINT offer_price CHECK (price >= 0),
    CONSTRAINT offer_lead_days CHECK (lead_days >= 0)
);

CREATE TABLE kit_part (
    workshop bigint NOT NULL REFERENCES workshop,
    kit      code NOT NULL,
    item     code NOT NULL,
    qty      bigint NOT NULL,
    PRIMARY KEY (workshop, kit, item),
    CONSTRAINT kit_part_kit_known FOREIGN KEY (workshop, kit) REFERENCES item,
    CONSTRAINT kit_part_item_known FOREIGN KEY (workshop, item) REFERENCES item,
    CONSTRAINT kit_part_not_itself CHECK (kit <> item),
    CONSTRAINT kit_part_qty CHECK (qty > 0)
);

CREATE TABLE alternate (
    workshop  bigint NOT NULL REFERENCES workshop,
    item      code NOT NULL,
    alternate code NOT NULL,
    rank      integer NOT NULL DEFAULT 1,
    note      text,
    PRIMARY KEY (workshop, item, alternate),
    CONSTRAINT alternate_item_known FOREIGN KEY (workshop, item) REFERENCES item,
    CONSTRAINT alternate_alternate_known FOREIGN KEY (workshop, alternate) REFERENCES item,
    CONSTRAINT alternate_not_itself CHECK (item <> alternate)
);

CREATE TABLE model (
    workshop bigint NOT NULL REFERENCES workshop,
    model    code NOT NULL,
    name     text NOT NULL,
    family   code NOT NULL,
    PRIMARY KEY (workshop, model),
    CONSTRAINT model_not_star CHECK (model <> '*')
);

CREATE TABLE service (
    workshop      bigint NOT NULL REFERENCES workshop,
    service       code NOT NULL,
    name          text NOT NULL,
    family        code NOT NULL,
    every_hours   double precision,
    every_months  integer,
    covers        text[] COLLATE "C" NOT NULL DEFAULT '{}',
    bench_minutes integer,
    PRIMARY KEY (workshop, service),
    CONSTRAINT service_every CHECK (every_hours > 0 AND every_months > 0),
    CONSTRAINT service_not_itself CHECK (service <> ALL (covers)),
    CONSTRAINT service_bench_minutes CHECK (bench_minutes >= 0)
);

CREATE TABLE bom_line (
    workshop    bigint NOT NULL REFERENCES workshop,
    service     code NOT NULL,
    model       code NOT NULL,
    item        code NOT NULL,
    valid_from  date NOT NULL DEFAULT '-infinity',
    qty         bigint NOT NULL,
    need        double precision NOT NULL DEFAULT 1,
    waste       double precision NOT NULL DEFAULT 0,
    valid_to    date NOT NULL DEFAULT 'infinity', -- the first day it no longer holds
    exact_model text COLLATE "C" GENERATED ALWAYS AS (NULLIF(model, '*')) STORED,
    PRIMARY KEY (workshop, service, model, item, valid_from),
    CONSTRAINT bom_line_service_known FOREIGN KEY (workshop, service) REFERENCES service,
    CONSTRAINT bom_line_model_known FOREIGN KEY (workshop, exact_model) REFERENCES model,
    CONSTRAINT bom_line_item_known FOREIGN KEY (workshop, item) REFERENCES item,
    CONSTRAINT bom_line_dates CHECK (valid_from < valid_to),
    CONSTRAINT bom_line_qty CHECK (qty > 0),
    CONSTRAINT bom_line_need CHECK (need BETWEEN 0 AND 1),
    CONSTRAINT bom_line_waste CHECK (waste >= 0)
);

-- Two lines of one service, model and item must not hold on the same day. The
-- lock makes writers of one workshop's bill take turns, so that neither
-- overlooks the other's lines. An exclusion constraint would need an extension
-- that not every installation has.
CREATE FUNCTION bom_line_no_overlap() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    clash record;
BEGIN
    PERFORM pg_advisory_xact_lock(hashtextextended('circlip book ' || workshop, 0))
        FROM (SELECT DISTINCT workshop FROM written ORDER BY workshop) AS w;
    SELECT a.service, a.model, a.item, a.valid_from AS first_from, b.valid_from AS second_from INTO clash
        FROM written AS a
        JOIN bom_line AS b USING (workshop, service, model, item)
        WHERE a.valid_from <> b.valid_from AND a.valid_from < b.valid_to AND b.valid_from < a.valid_to
        LIMIT 1;
    IF FOUND THEN
        RAISE EXCEPTION 'bill of materials of service % on model %: item % has lines from % and from % that hold on the same day',
            clash.service, clash.model, clash.item, clash.first_from, clash.second_from
            USING ERRCODE = 'exclusion_violation', CONSTRAINT = 'bom_line_no_overlap', TABLE = 'bom_line';
    END IF;
    RETURN NULL;
END $$;

CREATE TRIGGER bom_line_no_overlap_insert AFTER INSERT ON bom_line
    REFERENCING NEW TABLE AS written FOR EACH STATEMENT EXECUTE FUNCTION bom_line_no_overlap();
CREATE TRIGGER bom_line_no_overlap_update AFTER UPDATE ON bom_line
    REFERENCING NEW TABLE AS written FOR EACH STATEMENT EXECUTE FUNCTION bom_line_no_overlap();

CREATE TABLE unit (
    workshop       bigint NOT NULL REFERENCES workshop,
    unit           code NOT NULL,
    model          code NOT NULL,
    holder         text NOT NULL,
    unit_group     text COLLATE "C",
    hours_per_week double precision,
    in_service     date,
    retired        date,
    PRIMARY KEY (workshop, unit),
    CONSTRAINT unit_model_known FOREIGN KEY (workshop, model) REFERENCES model,
    CONSTRAINT unit_holder CHECK (holder IN ('fleet', 'customer')),
    CONSTRAINT unit_hours_per_week CHECK (hours_per_week >= 0),
    CONSTRAINT unit_dates CHECK (retired >= in_service)
);

CREATE TABLE reading (
    workshop bigint NOT NULL,
    unit     code NOT NULL,
    read_on  date NOT NULL,
    hours    double precision NOT NULL,
    reset    boolean NOT NULL DEFAULT false,
    PRIMARY KEY (workshop, unit, read_on),
    CONSTRAINT reading_unit_known FOREIGN KEY (workshop, unit) REFERENCES unit,
    CONSTRAINT reading_hours CHECK (hours >= 0)
);

CREATE TABLE season (
    workshop bigint NOT NULL REFERENCES workshop,
    week     integer NOT NULL,
    factor   double precision NOT NULL,
    PRIMARY KEY (workshop, week),
    CONSTRAINT season_week CHECK (week BETWEEN 1 AND 53),
    CONSTRAINT season_factor CHECK (factor >= 0)
);

CREATE TABLE job (
    workshop   bigint NOT NULL REFERENCES workshop,
    job        code NOT NULL,
    unit       text COLLATE "C", -- NULL: a unit the book does not know
    model      text COLLATE "C", -- NULL: the unit's own
    services   text[] COLLATE "C" NOT NULL,
    booked_on  date,
    bench_date date NOT NULL,
    state      text NOT NULL DEFAULT 'booked',
    done_on    date,
    PRIMARY KEY (workshop, job),
    CONSTRAINT job_unit_known FOREIGN KEY (workshop, unit) REFERENCES unit,
    CONSTRAINT job_model_known FOREIGN KEY (workshop, model) REFERENCES model,
    CONSTRAINT job_unit_or_model CHECK (unit IS NOT NULL OR model IS NOT NULL),
    CONSTRAINT job_has_a_service CHECK (cardinality(services) > 0),
    CONSTRAINT job_state CHECK (state IN ('booked', 'done', 'cancelled', 'no-show')),
    CONSTRAINT job_done_on CHECK ((state = 'done') = (done_on IS NOT NULL))
);

-- The services that a row of another table lists must exist, and one that is
-- listed must not be deleted: foreign keys cannot look into arrays.
CREATE FUNCTION service_listed_known() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    missing record;
BEGIN
    IF TG_TABLE_NAME = 'job' THEN
        SELECT w.job AS code, s.service INTO missing
            FROM written AS w CROSS JOIN LATERAL unnest(w.services) AS s(service)
            WHERE NOT EXISTS (SELECT FROM service AS k WHERE k.workshop = w.workshop AND k.service = s.service)
            LIMIT 1;
    ELSE
        SELECT w.service AS code, s.service INTO missing
            FROM written AS w CROSS JOIN LATERAL unnest(w.covers) AS s(service)
            WHERE NOT EXISTS (SELECT FROM service AS k WHERE k.workshop = w.workshop AND k.service = s.service)
            LIMIT 1;
    END IF;
    IF FOUND THEN
        RAISE EXCEPTION '% % lists service %, expected one that the workshop has', TG_TABLE_NAME, missing.code, missing.service
            USING ERRCODE = 'foreign_key_violation', CONSTRAINT = TG_TABLE_NAME || '_service_known', TABLE = TG_TABLE_NAME;
    END IF;
    RETURN NULL;
END $$;

CREATE TRIGGER job_service_known_insert AFTER INSERT ON job
    REFERENCING NEW TABLE AS written FOR EACH STATEMENT EXECUTE FUNCTION service_listed_known();
CREATE TRIGGER job_service_known_update AFTER UPDATE ON job
    REFERENCING NEW TABLE AS written FOR EACH STATEMENT EXECUTE FUNCTION service_listed_known();
CREATE TRIGGER service_service_known_insert AFTER INSERT ON service
    REFERENCING NEW TABLE AS written FOR EACH STATEMENT EXECUTE FUNCTION service_listed_known();
CREATE TRIGGER service_service_known_update AFTER UPDATE ON service
    REFERENCING NEW TABLE AS written FOR EACH STATEMENT EXECUTE FUNCTION service_listed_known();

CREATE FUNCTION service_still_listed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF EXISTS (SELECT FROM job WHERE workshop = OLD.workshop AND services @> ARRAY[OLD.service::text])
        OR EXISTS (SELECT FROM service WHERE workshop = OLD.workshop AND covers @> ARRAY[OLD.service::text]) THEN
        RAISE EXCEPTION 'service % is listed by a job or covered by a service, expected one that nothing relies on', OLD.service
            USING ERRCODE = 'foreign_key_violation', CONSTRAINT = 'service_still_listed', TABLE = 'service';
    END IF;
    RETURN OLD;
END $$;

CREATE TRIGGER service_still_listed BEFORE DELETE ON service
    FOR EACH ROW EXECUTE FUNCTION service_still_listed();

CREATE TABLE job_use (
    workshop bigint NOT NULL,
    job      code NOT NULL,
    item     code NOT NULL,
    lot      text COLLATE "C" NOT NULL DEFAULT '', -- '': whichever expires first
    qty      bigint NOT NULL,
    PRIMARY KEY (workshop, job, item, lot),
    CONSTRAINT job_use_job_known FOREIGN KEY (workshop, job) REFERENCES job,
    CONSTRAINT job_use_item_known FOREIGN KEY (workshop, item) REFERENCES item,
    CONSTRAINT job_use_qty CHECK (qty > 0)
);

-- The opening shelf as it was written down; what became of it is the ledger's.
CREATE TABLE stock_row (
    workshop   bigint NOT NULL REFERENCES workshop,
    item       code NOT NULL,
    lot        code NOT NULL,
    qty        bigint NOT NULL,
    counted_on date NOT NULL,
    cure_mark  text, -- a date or a quarter, as written
    expires_on date,
    unit_cost  bigint,
    PRIMARY KEY (workshop, item, lot),
    CONSTRAINT stock_row_item_known FOREIGN KEY (workshop, item) REFERENCES item,
    CONSTRAINT stock_row_qty CHECK (qty >= 0),
    CONSTRAINT stock_row_unit_cost CHECK (unit_cost >= 0)
);

CREATE TABLE order_line (
    workshop       bigint NOT NULL REFERENCES workshop,
    order_code     code NOT NULL,
    item           code NOT NULL,
    supplier       code NOT NULL,
    packs          integer NOT NULL,
    placed_on      date NOT NULL,
    due_on         date,
    received_on    date,
    received_packs integer,
    pack_qty       bigint NOT NULL, -- of the offer when the order was written down
    price          bigint NOT NULL, -- a pack, likewise
    PRIMARY KEY (workshop, order_code, item),
    CONSTRAINT order_line_item_known FOREIGN KEY (workshop, item) REFERENCES item,
    CONSTRAINT order_line_supplier_known FOREIGN KEY (workshop, supplier) REFERENCES supplier,
    CONSTRAINT order_line_packs CHECK (packs > 0 AND received_packs >= 0 AND pack_qty > 0),
    CONSTRAINT order_line_price CHECK (price >= 0),
    CONSTRAINT order_line_dates CHECK (due_on >= placed_on AND received_on >= placed_on),
    CONSTRAINT order_line_received CHECK (received_packs IS NULL OR received_on IS NOT NULL)
);

CREATE TABLE item_count (
    workshop   bigint NOT NULL REFERENCES workshop,
    item       code NOT NULL,
    counted_on date NOT NULL,
    qty        bigint NOT NULL, -- found, whether counted or weighed
    gross_g    double precision,
    tare_g     double precision,
    temp_c     double precision,
    PRIMARY KEY (workshop, item, counted_on),
    CONSTRAINT item_count_item_known FOREIGN KEY (workshop, item) REFERENCES item,
    CONSTRAINT item_count_qty CHECK (qty >= 0),
    CONSTRAINT item_count_weighed CHECK ((gross_g IS NULL) = (tare_g IS NULL) AND gross_g >= tare_g AND tare_g >= 0)
);
