-- What an audit of fluids needs beyond counts: containers whose empty weight is
-- known, the containers that a count was made of, what was gathered of spent
-- fluids and handed over, who did a job at the bench, and why a bill of
-- materials says what it says.

CREATE TABLE container (
    workshop  bigint NOT NULL REFERENCES workshop,
    container code NOT NULL,
    name      text NOT NULL,
    item      text COLLATE "C", -- NULL: it is for anything
    tare_g    double precision NOT NULL,
    volume_ml double precision, -- what it holds when full
    PRIMARY KEY (workshop, container),
    CONSTRAINT container_item_known FOREIGN KEY (workshop, item) REFERENCES item,
    CONSTRAINT container_sizes CHECK (tare_g >= 0 AND volume_ml > 0)
);

-- A part keeps the tare that it was reckoned with: a container that weighs
-- something else later changes no count.
CREATE TABLE count_part (
    workshop   bigint NOT NULL,
    item       code NOT NULL,
    counted_on date NOT NULL,
    number     integer NOT NULL, -- 1, 2, 3 in each count
    container  text COLLATE "C", -- NULL: none that is known
    qty        bigint NOT NULL, -- found in it, whether measured or weighed
    gross_g    double precision,
    tare_g     double precision,
    temp_c     double precision, -- of the fluid when it was weighed
    opened_on  date,
    PRIMARY KEY (workshop, item, counted_on, number),
    CONSTRAINT count_part_count_known FOREIGN KEY (workshop, item, counted_on) REFERENCES item_count,
    CONSTRAINT count_part_container_known FOREIGN KEY (workshop, container) REFERENCES container,
    CONSTRAINT count_part_number CHECK (number > 0),
    CONSTRAINT count_part_qty CHECK (qty >= 0),
    CONSTRAINT count_part_weighed CHECK ((gross_g IS NULL) = (tare_g IS NULL) AND gross_g >= tare_g AND tare_g >= 0
        AND (temp_c IS NULL OR gross_g IS NOT NULL)),
    CONSTRAINT count_part_opened CHECK (opened_on <= counted_on)
);

CREATE TABLE disposal (
    workshop    bigint NOT NULL REFERENCES workshop,
    happened_on date NOT NULL,
    number      integer NOT NULL, -- 1, 2, 3 of each day
    stream      text NOT NULL,
    moment      text NOT NULL, -- 'gathered' in the workshop, or 'handed-over' to a carrier
    volume_ml   double precision,
    weight_g    double precision, -- net
    carrier     text,
    document    text, -- number of the carrier's paper
    note        text,
    PRIMARY KEY (workshop, happened_on, number),
    CONSTRAINT disposal_number CHECK (number > 0),
    CONSTRAINT disposal_stream CHECK (stream IN ('oil', 'grease', 'solvent')),
    CONSTRAINT disposal_moment CHECK (moment IN ('gathered', 'handed-over')),
    CONSTRAINT disposal_amount CHECK (volume_ml > 0 AND weight_g > 0 AND (volume_ml IS NOT NULL OR weight_g IS NOT NULL)),
    CONSTRAINT disposal_carrier CHECK (moment = 'gathered' OR carrier IS NOT NULL)
);

ALTER TABLE job ADD COLUMN done_by text, -- at the bench; NULL: not recorded
    ADD CONSTRAINT job_done_by CHECK (done_by IS NULL OR (state = 'done' AND btrim(done_by) <> ''));

ALTER TABLE bom_line ADD COLUMN note text; -- why it is so much
