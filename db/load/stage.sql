-- One temporary table for each table of the book, its columns named and ordered
-- as the book's, "row" in front. Rows arrive by COPY; nothing is checked here.
CREATE TEMP TABLE staged_settings (
    "row" bigint, key text COLLATE "C", value text
) ON COMMIT DROP;
CREATE TEMP TABLE staged_suppliers (
    "row" bigint, supplier text COLLATE "C", name text, order_weekday text, cutoff text, lead_days bigint,
    min_order bigint, carriage bigint, carriage_free_from bigint
) ON COMMIT DROP;
CREATE TEMP TABLE staged_holidays (
    "row" bigint, date date, supplier text COLLATE "C", name text
) ON COMMIT DROP;
CREATE TEMP TABLE staged_items (
    "row" bigint, item text COLLATE "C", name text, kind text, unit text, material text, shelf_months bigint,
    critical boolean, inside_mm double precision, section_mm double precision, hardness double precision,
    density_kg_m3 double precision, viscosity_40c double precision, flash_point_c double precision, bin text,
        gtin text, opened_months bigint
) ON COMMIT DROP;
CREATE TEMP TABLE staged_offers (
    "row" bigint, item text COLLATE "C", supplier text COLLATE "C", from_packs bigint, supplier_code text,
    pack_qty bigint, min_packs bigint, multiple bigint, price bigint, lead_days bigint
) ON COMMIT DROP;
CREATE TEMP TABLE staged_kits (
    "row" bigint, kit text COLLATE "C", item text COLLATE "C", qty bigint
) ON COMMIT DROP;
CREATE TEMP TABLE staged_alternates (
    "row" bigint, item text COLLATE "C", alternate text COLLATE "C", rank bigint, note text
) ON COMMIT DROP;
CREATE TEMP TABLE staged_grooves (
    "row" bigint, item text COLLATE "C", root_mm double precision, bore_mm double precision, width_mm double precision
) ON COMMIT DROP;
CREATE TEMP TABLE staged_containers (
    "row" bigint, container text COLLATE "C", name text, item text COLLATE "C", tare_g double precision,
    volume_ml double precision
) ON COMMIT DROP;
CREATE TEMP TABLE staged_models (
    "row" bigint, model text COLLATE "C", name text, family text COLLATE "C"
) ON COMMIT DROP;
CREATE TEMP TABLE staged_services (
    "row" bigint, service text COLLATE "C", name text, family text COLLATE "C", every_hours double precision,
    every_months bigint, covers text[] COLLATE "C", bench_minutes bigint
) ON COMMIT DROP;
CREATE TEMP TABLE staged_bom (
    "row" bigint, service text COLLATE "C", model text COLLATE "C", item text COLLATE "C", "from" date, qty bigint,
    need double precision, waste double precision, "to" date, note text
) ON COMMIT DROP;
CREATE TEMP TABLE staged_units (
    "row" bigint, unit text COLLATE "C", model text COLLATE "C", holder text, "group" text COLLATE "C",
    hours_per_week double precision, in_service date, retired date
) ON COMMIT DROP;
CREATE TEMP TABLE staged_readings (
    "row" bigint, unit text COLLATE "C", date date, hours double precision, reset boolean
) ON COMMIT DROP;
CREATE TEMP TABLE staged_season (
    "row" bigint, week bigint, factor double precision
) ON COMMIT DROP;
CREATE TEMP TABLE staged_jobs (
    "row" bigint, job text COLLATE "C", unit text COLLATE "C", model text COLLATE "C", service text[] COLLATE "C",
    booked_on date, bench_date date, state text, done_on date, cancelled_on date, done_by text
) ON COMMIT DROP;
CREATE TEMP TABLE staged_setups (
    "row" bigint, job text COLLATE "C", moment text, unit text COLLATE "C", date date, air_bar double precision,
    rebound_clicks bigint, compression text, volume_spacers bigint, note text
) ON COMMIT DROP;
CREATE TEMP TABLE staged_job_use (
    "row" bigint, job text COLLATE "C", item text COLLATE "C", lot text COLLATE "C", qty bigint
) ON COMMIT DROP;
CREATE TEMP TABLE staged_stock (
    "row" bigint, item text COLLATE "C", lot text COLLATE "C", qty bigint, counted_on date, cure_date text,
    expires_on date, unit_cost bigint
) ON COMMIT DROP;
CREATE TEMP TABLE staged_orders (
    "row" bigint, "order" text COLLATE "C", item text COLLATE "C", supplier text COLLATE "C", packs bigint,
    placed_on date, due_on date, received_on date, received_packs bigint, closed_on date,
    pack_qty bigint, price bigint, sheet text COLLATE "C"
) ON COMMIT DROP;
CREATE TEMP TABLE staged_counts (
    "row" bigint, item text COLLATE "C", date date, qty bigint, gross_g double precision, tare_g double precision,
    temp_c double precision,
    found bigint -- qty, or what the weights or the parts come to
) ON COMMIT DROP;
CREATE TEMP TABLE staged_count_parts (
    "row" bigint, item text COLLATE "C", date date, number bigint, container text COLLATE "C", qty bigint,
    gross_g double precision, tare_g double precision, temp_c double precision, opened_on date,
    tared double precision, -- tare_g, or the container's
    found bigint -- qty, or what the weights come to; NULL: they come to nothing that can be
) ON COMMIT DROP;
CREATE TEMP TABLE staged_disposals (
    "row" bigint, date date, number bigint, stream text, moment text, volume_ml double precision,
    weight_g double precision, carrier text, document text, note text
) ON COMMIT DROP;
CREATE TEMP TABLE staged_moves (
    "row" bigint, item text COLLATE "C", lot text COLLATE "C", number bigint, act text, "from" text, "to" text,
    reverses bigint, ref text COLLATE "C", qty bigint, date date, received date, expires_on date, unit_cost bigint,
    packs bigint, inspected_by text, note text
) ON COMMIT DROP;

-- Codes of rows that are at fault themselves: a row that names one is not told
-- that it does not exist.
CREATE TEMP TABLE spoiled (refers text, code text COLLATE "C") ON COMMIT DROP;
