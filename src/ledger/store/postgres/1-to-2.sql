CREATE TABLE customers (
  id text COLLATE "C" PRIMARY KEY, name text COLLATE "C"
);
