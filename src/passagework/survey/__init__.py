"""A whole library measured: every score below a folder becomes one row of a Parquet table.

The work is done by readers, processes of their own that are handed one score at a time (`passagework.survey.reader`), on
this machine (`passagework.survey.local`) or on a Dask cluster (`passagework.survey.cluster`). Rows go into a journal as they
come (`passagework.survey.journal`); the table is assembled at the end, in order of path (`passagework.survey.table`).
"""
