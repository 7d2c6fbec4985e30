SELECT item, lot, number, act, from_place, to_place, reverses, ref, qty, happened_on - DATE '1970-01-01',
    received_on - DATE '1970-01-01', expires_on - DATE '1970-01-01', unit_cost, packs, inspected_by, note
FROM moves WHERE workshop = @workshop
ORDER BY item, lot, number
