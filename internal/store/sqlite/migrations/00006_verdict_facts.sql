-- +goose Up
-- A verdict is an object of facts. It was one line for people, and what to do next in a
-- second; the lines that are there are taken apart here for the last time.
UPDATE answers SET verdict = CASE
  WHEN verdict = '' THEN json_object('state', '')
  WHEN verdict = 'First, rough count' THEN json_object('state', 'rough')
  WHEN verdict LIKE 'cannot be worked out: %' THEN json_object('state', 'problem', 'says', substr(verdict, length('cannot be worked out: ') + 1))
  WHEN verdict LIKE '%: done' || char(10) || 'see whether it holds' THEN
    json_object('state', 'repaired', 'repairs', json_array(substr(verdict, 1, length(verdict) - length(': done' || char(10) || 'see whether it holds'))))
  WHEN verdict LIKE '%: %' AND substr(verdict, 1, instr(verdict || char(10), char(10)) - 1) LIKE '%\%' ESCAPE '\' THEN
    json_object('state', 'settled',
      'name', substr(verdict, 1, instr(verdict, ': ') - 1),
      'percent', substr(verdict, instr(verdict, ': ') + 2, instr(verdict || char(10), char(10)) - instr(verdict, ': ') - 2),
      'next', substr(verdict, instr(verdict || char(10), char(10)) + 1))
  ELSE
    json_object('state', 'nothing-fits',
      'says', substr(verdict, 1, instr(verdict || char(10), char(10)) - 1),
      'next', substr(verdict, instr(verdict || char(10), char(10)) + 1))
END;

-- +goose Down
-- An answer can always be made again.
UPDATE answers SET verdict = '';
