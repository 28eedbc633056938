"""A run over many parts: what is missing or changed is planned, then all of it is listed."""

import collections
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

from castplan import __version__
from castplan.batch import order as orders_of
from castplan.batch import page, summary
from castplan.batch.order import Order
from castplan.batch.outcome import REFUSED, Outcome
from castplan.batch.pot import PotLoads, fill_pot
from castplan.batch.store import PAGE_FILE, SUMMARY_FILE, Entry, Store
from castplan.batch.totals import Totals, add_up
from castplan.errors import CastplanError
from castplan.job import Shop

# Plans put into their place at once: each waits for the disk several times.
WRITERS = 8


def plan_missing(orders: list[Order], store: Store, settings, *, is_wanted, report) -> int:
    """Plan every part whose plan is missing, or made from another mesh, job or version.

    A plan that stands in another language is read and written again.

    Parameters
    ----------
    orders : list of Order
    store : Store
        Takes each part as it ends.
    settings : cluster.Settings
    is_wanted : callable
        Asked now and then; no more parts are started once it says no.
    report : callable
        Called as ``report(n_done, n_all)``, of the parts that need planning.

    Returns
    -------
    int
        How many parts stood already.
    """
    limits, hashes, sizes, refused = settings.limits, {}, {}, []
    for order in orders:
        hashes[order.name], wrong = "", order.wrong
        try:
            mesh = orders_of.read_mesh(order)
            sizes[order.name] = len(mesh) * (1 + len(order.others))
            hashes[order.name] = orders_of.meshes_hash(order, mesh)
        except CastplanError as error:
            wrong = wrong or str(error)
        if wrong:
            refused.append((order, Outcome(status=REFUSED, error=wrong)))
    keys = {order.name: orders_of.key_of(order, hashes[order.name]) for order in orders}
    store.list_parts(keys)
    for order, outcome in refused:
        store.keep(_entry(order, hashes[order.name], limits, outcome), outcome)
    good = keys.keys() - {order.name for order, _ in refused}
    held = {name for name in good if store.holds(name, keys[name], limits)}
    other = {
        order.name
        for order in orders
        if order.name in held and not store.says(order.name, order.texts_sha256)
    }
    kept = held - other
    missing = [
        _said_again(order, store) if order.name in other else order
        for order in orders
        if order.name in good - kept
    ]
    # The longest first: a large mesh begun last would keep one worker busy while the others
    # are done (Graham, Bounds on multiprocessing timing anomalies, 1969).
    missing.sort(key=lambda order: -sizes[order.name])
    if missing:
        report(0, len(missing))
        _plan(missing, store, hashes, settings, is_wanted, report)
    return len(kept)


def _said_again(order, store):
    # Solids are made beside the plan, of more digits than it keeps.
    return order if order.solids else replace(order, said=store.plan_folder(order.name))


def _plan(missing, store, hashes, settings, is_wanted, report):
    # Loaded only when there is something to plan.
    from castplan.batch.cluster import run_orders

    n_done, writing = 0, collections.deque()

    def wait_for_one():
        nonlocal n_done
        writing.popleft().result()
        n_done += 1
        report(n_done, len(missing))

    with ThreadPoolExecutor(max_workers=WRITERS) as pool:
        for order, outcome in run_orders(missing, settings, is_wanted=is_wanted):
            entry = _entry(order, hashes[order.name], settings.limits, outcome)
            writing.append(pool.submit(store.keep, entry, outcome))
            while writing and (writing[0].done() or len(writing) > WRITERS):
                wait_for_one()
        while writing:
            wait_for_one()


def _entry(order, mesh_sha256, limits, outcome):
    return Entry(
        name=order.name,
        file=order.path.name,
        key=orders_of.key_of(order, mesh_sha256),
        mesh_sha256=mesh_sha256,
        choices=orders_of.choices_of(order),
        version=__version__,
        status=outcome.status,
        error=outcome.error,
        seconds=outcome.seconds,
        limit_s=limits.seconds,
        memory_mb=limits.memory_mb,
        digest=outcome.digest,
        texts_sha256=order.texts_sha256,
    )


def write_catalogue(
    store: Store,
    *,
    title: str,
    n_asked: int,
    shop: Shop,
    pot_mm: tuple[float, float] | None,
) -> tuple[list[Entry], Totals, PotLoads | None]:
    """Write the table and the page over all parts that have ended.

    Parameters
    ----------
    store : Store
    title : str
    n_asked : int
        Parts of the run.
    shop : Shop
        Whose packs are bought.
    pot_mm : (float, float) or None
        Inside of the pressure pot: diameter, height.

    Returns
    -------
    entries : list of Entry
    totals : Totals
    pot : PotLoads or None
    """
    entries = store.entries()
    pot = None if pot_mm is None else fill_pot(entries, pot_mm, shop)
    totals = add_up(entries, shop, pot)
    files = {entry.name: _names(store.plan_folder(entry.name)) for entry in entries}
    store.write(SUMMARY_FILE, summary.summary_csv(entries))
    told = page.page_html(entries, totals, pot, title=title, n_asked=n_asked, files=files)
    store.write(PAGE_FILE, told)
    return entries, totals, pot


def _names(folder: Path) -> tuple[str, ...]:
    return tuple(sorted(path.name for path in folder.iterdir())) if folder.is_dir() else ()
