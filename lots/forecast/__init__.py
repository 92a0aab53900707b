"""Pure numbers: what the nursery's own lots say over the handbook's expectations.

NumPy and SciPy only; nothing of the project, no Django. Lots come in as plain arrays (`lotrows`),
fits and forecasts go out as frozen dataclasses:

    handbook      what the trade expects of a crop group and method
    durations     fit, predict, quantile, draw: days to struck and to finished
    takes         bounds, fit, predict, units_pmf: how many units take
    weeks         fit_spread, finishing, summary: pots finishing week by week
    compare       method against method, season and stock plant allowed for
    trial         two ways side by side in the same flats
    surprise      losses and lateness that chance seldom explains
    proportions   a share of a count, with its interval
    store         fits as JSON and back

Below them: `lotrows`, `effects` and `posteriors` (the nest of effects that durations and takes have
in common), `drift` (how the nursery changes), `sparse` (matrices of few entries a row), `crossed`
(effects that don't nest), `censored` and `betabinomial` (likelihoods), `scales` (how far things
scatter, by empirical Bayes), `bands` (the central 80 %).
"""
