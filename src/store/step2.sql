-- Version 2: what memory forecast before the answer was seen, so that forecasts can be held against answers even
-- when the model has changed since; and a quick way to the answers of one item.

ALTER TABLE review ADD COLUMN forecast REAL CHECK (forecast BETWEEN 0 AND 1);
CREATE INDEX IF NOT EXISTS review_item ON review (item);
