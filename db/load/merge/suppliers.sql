MERGE INTO supplier AS t USING staged_suppliers AS s
ON t.workshop = @workshop AND t.supplier = s.supplier
WHEN MATCHED AND (t.name, t.order_weekday, t.cutoff, t.lead_days, t.min_order, t.carriage, t.carriage_free_from)
        IS DISTINCT FROM (s.name, s.order_weekday, s.cutoff, s.lead_days, s.min_order, s.carriage,
            s.carriage_free_from) THEN UPDATE SET
    name = s.name, order_weekday = s.order_weekday, cutoff = s.cutoff, lead_days = s.lead_days,
        min_order = s.min_order, carriage = s.carriage, carriage_free_from = s.carriage_free_from
WHEN NOT MATCHED THEN INSERT (workshop, supplier, name, order_weekday, cutoff, lead_days, min_order, carriage,
    carriage_free_from)
    VALUES (@workshop, s.supplier, s.name, s.order_weekday, s.cutoff, s.lead_days, s.min_order, s.carriage,
        s.carriage_free_from)
