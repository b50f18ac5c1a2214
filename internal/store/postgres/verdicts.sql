-- A verdict is an object of facts. It was one line for people, and what to do next in a
-- second; the lines that are there are taken apart here for the last time.
UPDATE answers SET verdict = CASE
  WHEN verdict = '' THEN json_build_object('state', '')
  WHEN verdict = 'First, rough count' THEN json_build_object('state', 'rough')
  WHEN verdict LIKE 'cannot be worked out: %' THEN json_build_object('state', 'problem', 'says', substr(verdict, length('cannot be worked out: ') + 1))
  WHEN verdict LIKE '%: done' || chr(10) || 'see whether it holds' THEN
    json_build_object('state', 'repaired', 'repairs', json_build_array(substr(verdict, 1, length(verdict) - length(': done' || chr(10) || 'see whether it holds'))))
  WHEN verdict LIKE '%: %' AND split_part(verdict, chr(10), 1) LIKE '%\%' THEN
    json_build_object('state', 'settled',
      'name', split_part(verdict, ': ', 1),
      'percent', substr(split_part(verdict, chr(10), 1), strpos(verdict, ': ') + 2),
      'next', substr(verdict, strpos(verdict || chr(10), chr(10)) + 1))
  ELSE
    json_build_object('state', 'nothing-fits',
      'says', split_part(verdict, chr(10), 1),
      'next', substr(verdict, strpos(verdict || chr(10), chr(10)) + 1))
END::text
WHERE shop = $1
