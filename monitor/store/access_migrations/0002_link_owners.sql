-- Who owned each vessel of a link when it was made (JSON, vessel to owner's key): it shows her for no longer than that.
-- NULL for links that were made before: whose they were is not known.

ALTER TABLE secret ADD COLUMN owners TEXT;
