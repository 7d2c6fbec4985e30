-- What the bench keeps of a job besides its parts: how the unit was set when it
-- came and when it left, and the day on which a job was called off.

ALTER TABLE job ADD COLUMN cancelled_on date, -- or on which it did not turn up; NULL: not known
    ADD COLUMN told_state text,
    ADD COLUMN told_bench_date date,
    ADD CONSTRAINT job_cancelled_on CHECK (cancelled_on IS NULL OR state IN ('cancelled', 'no-show')),
    ADD CONSTRAINT job_cancelled_dates CHECK (cancelled_on >= booked_on);
COMMENT ON COLUMN job.told_state IS 'as the last book said that changed the row; a book that says it again has no news of
what acts did since. NULL: no book told of the job';
COMMENT ON COLUMN job.told_bench_date IS 'likewise';

-- What is NULL was not written down.
CREATE TABLE setup (
    workshop       bigint NOT NULL REFERENCES workshop,
    unit           code NOT NULL,
    job            code NOT NULL,
    moment         text NOT NULL, -- 'before' it was worked on, or 'after'
    on_day         date NOT NULL,
    air_bar        double precision,
    rebound_clicks integer, -- from closed
    compression    text, -- a position or clicks, as the rider says it
    volume_spacers integer,
    note           text,
    PRIMARY KEY (workshop, job, moment),
    CONSTRAINT setup_unit_known FOREIGN KEY (workshop, unit) REFERENCES unit,
    CONSTRAINT setup_job_known FOREIGN KEY (workshop, job) REFERENCES job,
    CONSTRAINT setup_moment CHECK (moment IN ('before', 'after')),
    CONSTRAINT setup_numbers CHECK (air_bar >= 0 AND rebound_clicks >= 0 AND volume_spacers >= 0)
);
