"""Kinds of body: what a car looks like from the side, where the page has no photograph of it."""

from scheduler.vocabulary.regimes import Choice

BODIES = (
    Choice(code="saloon", title="Saloon", also="sedan|berline|limousine"),
    Choice(code="estate", title="Estate", also="shooting brake|station wagon|wagon|kombi"),
    Choice(code="coupe", title="Coupé", also="coupe|fastback|hardtop"),
    Choice(
        code="open", title="Open two-seater", also="roadster|convertible|drophead|cabriolet|spider|spyder"
    ),
    Choice(code="van", title="Van", also="lorry|pick-up|bus|field car|off-roader"),
    Choice(code="pre_war", title="Pre-war", also="tourer|vintage|veteran"),
)
