-- Shops are kept apart by the database itself: a connection sees and writes the rows
-- of the shop that it has said, and none before it has said one. The owner of the
-- tables is held to that too. Where an engine or a role passes over row security,
-- the store holds one shop only. Table by table: not every engine has loops in SQL.
ALTER TABLE jobs ENABLE ROW LEVEL SECURITY;
ALTER TABLE jobs FORCE ROW LEVEL SECURITY;
DROP POLICY IF EXISTS of_one_shop ON jobs;
CREATE POLICY of_one_shop ON jobs USING (shop = current_setting('weephole.shop', true)) WITH CHECK (shop = current_setting('weephole.shop', true));
ALTER TABLE entries ENABLE ROW LEVEL SECURITY;
ALTER TABLE entries FORCE ROW LEVEL SECURITY;
DROP POLICY IF EXISTS of_one_shop ON entries;
CREATE POLICY of_one_shop ON entries USING (shop = current_setting('weephole.shop', true)) WITH CHECK (shop = current_setting('weephole.shop', true));
ALTER TABLE files ENABLE ROW LEVEL SECURITY;
ALTER TABLE files FORCE ROW LEVEL SECURITY;
DROP POLICY IF EXISTS of_one_shop ON files;
CREATE POLICY of_one_shop ON files USING (shop = current_setting('weephole.shop', true)) WITH CHECK (shop = current_setting('weephole.shop', true));
ALTER TABLE answers ENABLE ROW LEVEL SECURITY;
ALTER TABLE answers FORCE ROW LEVEL SECURITY;
DROP POLICY IF EXISTS of_one_shop ON answers;
CREATE POLICY of_one_shop ON answers USING (shop = current_setting('weephole.shop', true)) WITH CHECK (shop = current_setting('weephole.shop', true));
ALTER TABLE settings ENABLE ROW LEVEL SECURITY;
ALTER TABLE settings FORCE ROW LEVEL SECURITY;
DROP POLICY IF EXISTS of_one_shop ON settings;
CREATE POLICY of_one_shop ON settings USING (shop = current_setting('weephole.shop', true)) WITH CHECK (shop = current_setting('weephole.shop', true));
ALTER TABLE tally ENABLE ROW LEVEL SECURITY;
ALTER TABLE tally FORCE ROW LEVEL SECURITY;
DROP POLICY IF EXISTS of_one_shop ON tally;
CREATE POLICY of_one_shop ON tally USING (shop = current_setting('weephole.shop', true)) WITH CHECK (shop = current_setting('weephole.shop', true));
ALTER TABLE work ENABLE ROW LEVEL SECURITY;
ALTER TABLE work FORCE ROW LEVEL SECURITY;
DROP POLICY IF EXISTS of_one_shop ON work;
CREATE POLICY of_one_shop ON work USING (shop = current_setting('weephole.shop', true)) WITH CHECK (shop = current_setting('weephole.shop', true));
