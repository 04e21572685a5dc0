"""The local page: what a teacher reaches with a browser, served to this machine alone.

`create_app` (in `app`) builds it; `serve` (in `serve`) runs it. Every folder below is a room of pages with its router, its
words and its templates. What is common: `safety` (who may ask, who may change), `pages` (templates and answers), `notices`
(what was done, with a way back), `errors` (one clear line) and `jobs` (long work in processes of its own).

A room of pages
---------------
A package ``web/name/`` with ``router = APIRouter(prefix="/name")``, named in `app.ROUTERS`; templates in
``web/templates/name/``, scripts and styles in ``web/static/name/``. A page::

    @router.get("/{number}")
    def show(request: Request, studio: StudioOf, number: Id) -> Response:
        return page(request, "name/show.html", {"piece": studio.piece(number)})

    @router.post("/{number}/hide")                     # the token is asked for by the application: no route can forget it
    def hide(request: Request, studio: StudioOf, number: Id, spot: Annotated[str, Form(max_length=200)]) -> Response:
        undo = studio.hide(number, spot)
        return go_to(request, f"/name/{number}", "Hidden.", undo)

Plain ``def``: the route runs in a thread. A template extends ``base.html`` (blocks `title`, `heading`, `beside`, `tabs`, `main`,
`head`, `scripts`), puts ``{{ token_field() }}`` into every form that changes something, and takes its fields and buttons from
``macros.html`` (``{% from "macros.html" import field, act with context %}``). No style attribute, no script inside a page: the policy
forbids them. A script is a module: ``{% block scripts %}<script type="module" src="/static/name/x.js"></script>{% endblock %}``; from
``/static/page.js`` it takes `send` (JSON, FormData or Blob, with the token), `ask`, `say` (a notice with undo) and `typing` (a key
press that belongs to a text field). A request body over 1 MB needs a row in `settings.LARGEST_BODIES`.

In tests: ``tests/web/conftest.py`` has `client`, which sends the token and the origin that a browser would.
"""
