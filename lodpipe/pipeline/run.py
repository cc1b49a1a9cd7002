"""A run: two passes and a barrier, one commit, then the export."""

from contextlib import AbstractContextManager, closing, nullcontext

from msgspec import structs

from lodpipe import archive, parts
from lodpipe import export as exporter
from lodpipe.findings import Finding
from lodpipe.parts import IndexReader, Kept, finished
from lodpipe.pipeline.access import refuse_faulty
from lodpipe.pipeline.anew import Anew
from lodpipe.pipeline.barrier import barrier
from lodpipe.pipeline.collecting import rare_collection
from lodpipe.pipeline.fingerprint import fingerprint
from lodpipe.pipeline.first_pass import first_pass
from lodpipe.pipeline.made_from import common
from lodpipe.pipeline.progress import Clock, Watcher
from lodpipe.pipeline.release import Settlement, settle, tell_outcome
from lodpipe.pipeline.results import Options, Result
from lodpipe.pipeline.shapes import digest_of, shape_texts
from lodpipe.pipeline.standing import exported, keep, recall
from lodpipe.pipeline.stretches import Lent
from lodpipe.pipeline.undecided import undecided
from lodpipe.pipeline.workers import Alone, Processes, Workers
from lodpipe.pipeline.workshop import Workshop, open_workshop
from lodpipe.project import Project


def run(project: Project, options: Options, watcher: Watcher) -> Result:
    """Read, map, check and release a project, then write its export.

    Raises:
        UsageError: wrong use, a faulty file, a source that cannot be read at all.
        EmptyError: nothing would be released, or nothing was checked.
        NotFinishedError: disk, permission, lock, archive, books; nothing was released.
    """
    if options.scheduler:  # its workers are elsewhere
        project = structs.replace(project, folder=project.folder.resolve())
    result = Result()
    clock = Clock(watcher)
    with archive.lock(project.archive):
        with clock.stage("look for changes"):
            mark = fingerprint(project, options)
            known = not options.withdrawing and recall(project, mark, result)
        if known:
            tell_outcome(project, result)
            result.written = exported(project, result.latest) if options.export else None
        else:
            if options.withdrawing:
                _forget(project)
            shop = open_workshop(project)
            shop.check_mappings()
            archive.forget_standing(project.archive)
            with (
                parts.work_folder(project.work),
                rare_collection(),
                _workers(shop, options) as workers,
            ):
                result.workers = workers.count
                _passes(shop, options, workers, result, clock)
        wanted = options.export and result.latest and result.written is None
        if wanted:
            _export(project, result, clock)
        if (wanted or not known) and not options.withdrawing:
            keep(project, mark, result)
    result.seconds = clock.seconds
    return result


def _workers(shop: Workshop, options: Options) -> AbstractContextManager[Workers]:
    """Return who does the passes: this process, several of this machine, or those of a cluster."""
    if options.scheduler:
        from lodpipe.pipeline.cluster import Cluster

        return Cluster(shop.project, options.scheduler)
    if options.workers > 1:
        return Processes(shop.project, options.workers)
    return nullcontext(Alone(shop))


def _export(project: Project, result: Result, clock: Clock) -> None:
    concepts = open_workshop(project).concepts
    with clock.stage("export") as bar:
        folder = project.folder / project.export.folder
        result.written = exporter.export(project, concepts, folder, advance=bar.advance)


def _passes(
    shop: Workshop, options: Options, workers: Workers, result: Result, clock: Clock
) -> None:
    work = shop.project.work
    findings: list[Finding] = []
    loaded = shop.evidence(findings.append)
    refuse_faulty(loaded.access, shop.project, withdrawing=options.withdrawing)
    kept = None if options.withdrawing else Kept(shop.project.drafts)
    first = first_pass(shop, work, result.books, clock, kept, workers)
    path, day = work / "index.sqlite", options.now[:10]
    middle = barrier(shop, loaded, findings, first.parts, path, result.books, clock, day)
    result.withdrawal = middle.held.withdrawal
    texts = shape_texts(shop.project)
    basis = common(shop, middle, digest_of(texts), options.engine)
    with (
        closing(IndexReader(middle.index)) as index,
        closing(Anew(shop, middle, index, basis)) as second,
    ):
        lent = Lent(middle, texts, options.engine, second.sample(options.now))
        checker = lent.checker()
        second.run(lent, clock, workers)
        settlement = Settlement(
            parts=second.parts,
            finished=second.finished,
            middle=middle,
            hashes=first.hashes,
            findings=[
                *undecided(shop),
                *first.findings,
                *middle.findings,
                *second.findings,
                *checker.shape_findings(),
            ],
            shapes=[shape.name for shape in checker.shapes.targets()],
            digest=digest_of(texts),
            now=options.now,
            accept_losses=options.accept_losses,
            visible=options.visible,
        )
        settle(shop, settlement, index, result, clock)
    if not (result.held or options.withdrawing):
        second.keep()


def _forget(project: Project) -> None:
    """Take away all that was kept of earlier runs: what is withdrawn may be in it."""
    archive.forget_standing(project.archive)
    Kept(project.drafts).forget()
    finished.forget(project.archive.parent)
