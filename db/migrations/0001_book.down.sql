DROP TABLE item_count, order_line, stock_row, job_use, job, season, reading, unit, bom_line, service, model, alternate,
    kit_part, offer, item, supplier, setting, workshop;
DROP FUNCTION service_still_listed, service_listed_known, bom_line_no_overlap, item_measure_stays, in_measure;
DROP DOMAIN code;
