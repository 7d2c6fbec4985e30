DROP FUNCTION perform, dispatch, act_reverse, act_count, act_waste, lose, let_go, act_release, act_set_aside, act_take,
    act_receive, candidates, known, lock_lots, keep, move, refuse;
DROP TYPE done, shelf_lot;
