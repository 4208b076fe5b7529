"""All sheets of a catalogue folder; what a sheet refers to comes before it."""

from importers.sheets import engines, needs, parts, service, sources, stock
from importers.sheets.sheet import Sheet

SHEETS: tuple[Sheet, ...] = (
    sources.SOURCES,
    engines.ENGINES,
    engines.FEATURES,
    engines.VEHICLES,
    engines.DRIVES,
    needs.BELT_NEEDS,
    needs.ROLLER_NEEDS,
    needs.SPRING_NEEDS,
    needs.SIZE_NEEDS,
    needs.WEAR_LIMITS,
    needs.FASTENERS,
    parts.PARTS,
    parts.FITS,
    parts.REPLACEMENTS,
    stock.SUPPLIERS,
    stock.OFFERS,
    stock.STOCK,
    stock.DEMAND,
    service.JOBS,
    service.JOB_STEPS,
    service.TOOLS,
    parts.TRADE_NAMES,
    service.SYMPTOMS,
    service.SYMPTOM_CAUSES,
)
