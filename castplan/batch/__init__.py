"""Many parts: one plan each, on this machine or on a Dask cluster, and their catalogue.

::

    order    one part to plan: the mesh as bytes, the job, and the key of both
    outcome  how a part ended
    child    the process that plans order after order
    bench    starts a child, watches its time and memory, ends it
    digest   what the catalogue says of a plan
    cluster  shares orders out to workers and takes results back
    store    the result folder: a plan and a record a part, whole or not at all
    run      plans what is missing and lists all of it
    totals   what to buy for all parts
    pot      which moulds go into the pressure pot together
    summary  rows and sentences of the catalogue; its CSV
    page     the catalogue as one HTML file
    compare  which verdicts differ between two result folders
"""
