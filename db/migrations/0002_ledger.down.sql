DROP VIEW kept;
DROP TABLE set_aside, movement, act, balance, lot;
DROP FUNCTION open_balance, act_known, post_set_aside, post_movement, refuse_change, movement_bytes, framed;
