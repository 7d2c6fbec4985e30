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

-- Frees what is set aside for jobs that a book says have ended, or puts on
-- another day, and returns them. All lots are locked before the first.
CREATE FUNCTION release_told(shop bigint, put_off text[]) RETURNS SETOF text
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = circlip, pg_temp AS $$
DECLARE
    over   record;
    answer jsonb;
BEGIN
    PERFORM lock_lots(shop, ARRAY(SELECT DISTINCT k.item FROM kept AS k JOIN job AS j USING (workshop, job)
        WHERE workshop = shop AND (j.state <> 'booked' OR k.job = ANY (put_off))));
    FOR over IN SELECT s.job, greatest(max(s.happened_on), j.done_on, j.cancelled_on) AS today
        FROM set_aside AS s JOIN job AS j USING (workshop, job)
        WHERE workshop = shop AND (j.state <> 'booked' OR s.job = ANY (put_off))
        GROUP BY s.job, j.done_on, j.cancelled_on HAVING sum(s.qty) > 0 ORDER BY s.job
    LOOP
        answer := perform(shop, gen_random_uuid(), 'release',
            jsonb_build_object('job', over.job, 'on', over.today, 'lines', '[]'::jsonb));
        IF answer ? 'refused' THEN
            RAISE EXCEPTION 'release of job %: %', over.job, answer USING ERRCODE = 'serialization_failure';
        END IF;
        RETURN NEXT over.job;
    END LOOP;
END $$;

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
