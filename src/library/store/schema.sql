CREATE TABLE part (
  id INTEGER PRIMARY KEY,
  key TEXT NOT NULL UNIQUE, -- the path; for one that is no text, its bytes behind it
{columns}  gone INTEGER NOT NULL, -- 1 where the file was not there on the last run
  settings_key TEXT NOT NULL, -- fingerprint of the settings in force
  cut_at_s REAL, -- time limit where it ended the search
  program TEXT NOT NULL, -- version that scored it
  seconds_read REAL NOT NULL,
  seconds_total REAL NOT NULL,
  outline TEXT NOT NULL, -- from the front in the best pose: data of an SVG path in a box of {box_side}
  outline_stored TEXT NOT NULL -- the same as stored
) STRICT;
CREATE TABLE advice (
  part INTEGER PRIMARY KEY REFERENCES part (id),
  json TEXT NOT NULL -- the record as JSON, less the times
) STRICT;
CREATE TABLE run (
  id INTEGER PRIMARY KEY,
  began TEXT NOT NULL, -- UTC
  ended TEXT, -- null for a run that was stopped
  program TEXT NOT NULL,
  listed INTEGER NOT NULL, -- parts found
  scored INTEGER,
  kept INTEGER -- unchanged since an earlier run
) STRICT;
CREATE VIEW present AS SELECT {names} FROM part WHERE NOT gone;
{marked}CREATE VIEW turning_saves AS
  SELECT path, support_saved_mm3, stored_support_needed_mm3, support_needed_mm3,
         down_x, down_y, down_z, verdict
  FROM present WHERE support_saved_mm3 > 0 ORDER BY support_saved_mm3 DESC, path;
CREATE VIEW pose AS
  SELECT part.path, e.value ->> '$.rank' AS rank, e.value ->> '$.total' AS total,
         e.value ->> '$.down[0]' AS down_x, e.value ->> '$.down[1]' AS down_y,
         e.value ->> '$.down[2]' AS down_z, e.value ->> '$.origin' AS origin,
         e.value ->> '$.gates' AS gates, e.value ->> '$.undominated' AS undominated,
         e.value ->> '$.figures.height_mm' AS height_mm,
         e.value ->> '$.figures.contact_area_mm2' AS contact_area_mm2,
         e.value ->> '$.figures.support_needed_mm3' AS support_needed_mm3,
         e.value ->> '$.figures.slender_ratio' AS slender_ratio,
         e.value ->> '$.figures.print_min' AS print_min,
         e.value ->> '$.brief' AS brief
  FROM part JOIN advice ON advice.part = part.id, json_each(advice.json, '$.poses') AS e
  WHERE NOT gone;
CREATE VIEW remark AS
  SELECT part.path, e.value AS says
  FROM part JOIN advice ON advice.part = part.id, json_each(advice.json, '$.part.notes') AS e
  WHERE NOT gone;
CREATE VIEW precaution AS
  SELECT part.path, e.value ->> '$.key' AS key, e.value ->> '$.figure' AS figure,
         e.value ->> '$.value' AS value, e.value ->> '$.says' AS says
  FROM part JOIN advice ON advice.part = part.id,
       json_each(advice.json, '$.poses[0].precautions_detail') AS e
  WHERE NOT gone;
