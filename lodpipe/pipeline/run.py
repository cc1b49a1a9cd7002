"""A run: two passes and a barrier, one commit, then the export."""

from lodpipe import archive, parts
from lodpipe import export as exporter
from lodpipe.check import Checker, sample_of
from lodpipe.findings import Finding
from lodpipe.parts import IndexReader, Kept
from lodpipe.pipeline.access import refuse_faulty
from lodpipe.pipeline.barrier import Barrier, barrier
from lodpipe.pipeline.collecting import rare_collection
from lodpipe.pipeline.fingerprint import fingerprint
from lodpipe.pipeline.first_pass import first_pass
from lodpipe.pipeline.progress import Clock, Watcher
from lodpipe.pipeline.release import Settlement, never_released, settle, tell_outcome
from lodpipe.pipeline.results import Options, Result
from lodpipe.pipeline.second_pass import SecondPass
from lodpipe.pipeline.shapes import digest_of, shape_texts
from lodpipe.pipeline.standing import exported, keep, recall
from lodpipe.pipeline.undecided import undecided
from lodpipe.pipeline.workers import Workers, workers_of
from lodpipe.pipeline.workshop import Workshop, open_workshop
from lodpipe.project import Project
from lodpipe.rdf import Emitter


def run(project: Project, options: Options, watcher: Watcher) -> Result:
    """Read, map, check and release a project, then write its export.

    Raises:
        UsageError: wrong use, a faulty file, a source that cannot be read at all.
        EmptyError: nothing would be released, or nothing was checked.
        NotFinishedError: disk, permission, lock, archive, books; nothing was released.
    """
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
            shop = open_workshop(project)
            shop.check_mappings()
            archive.forget_standing(project.archive)
            with (
                parts.work_folder(project.work),
                rare_collection(),
                workers_of(shop, options.workers) as workers,
            ):
                _passes(shop, options, workers, result, clock)
        wanted = options.export and result.latest and result.written is None
        if wanted:
            _export(project, result, clock)
        if (wanted or not known) and not options.withdrawing:
            keep(project, mark, result)
    result.seconds = clock.seconds
    return result


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
    kept = Kept(shop.project.drafts)
    if options.withdrawing:
        kept.forget()
    first = first_pass(
        shop, work, result.books, clock, None if options.withdrawing else kept, workers
    )
    path, day = work / "index.sqlite", options.now[:10]
    middle = barrier(shop, loaded, findings, first.parts, path, result.books, clock, day)
    result.withdrawal = middle.held.withdrawal
    index = IndexReader(middle.index)
    try:
        texts = shape_texts(shop.project)
        uris = (entry.uri for entry in index.entries())
        sample = sample_of(uris, options.now)
        checker = Checker(texts, engine=options.engine, sample=sample)
        second = _second_pass(shop, middle, index, checker, clock)
        settlement = Settlement(
            part=second.part,
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
    finally:
        index.close()


def _second_pass(
    shop: Workshop, middle: Barrier, index: IndexReader, checker: Checker, clock: Clock
) -> SecondPass:
    emitter = Emitter(shop.project.site.base, shop.concepts, language=shop.project.language)
    second = SecondPass(
        emitter,
        checker,
        shop.project.check.gate,
        shop.project.work / "made.sqlite",
        never=middle.words,
    )
    try:
        second.run(middle.finished(shop, index), clock, index.count())
        _unlink_waiting(shop, middle, index, second, clock)
    finally:
        second.close()
    return second


def _unlink_waiting(
    shop: Workshop, middle: Barrier, index: IndexReader, second: SecondPass, clock: Clock
) -> None:
    """Finish again what points at documents that are stopped and were never released.

    Such a link would lead nowhere. What loses it may be stopped in turn, so it goes on until
    nothing points at what waits.
    """
    waiting: frozenset[str] = frozenset()
    while more := never_released(shop.project.archive, second.stopped - waiting):
        waiting |= more
        naming = second.naming(more)
        second.run(middle.finished_again(shop, index, naming, waiting), clock, len(naming))
