"""HTTP only: routes, negotiation, caching, problem details."""
