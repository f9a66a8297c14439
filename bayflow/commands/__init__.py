"""The commands of `bayflow`, one module each: `add` names the arguments, `run` gives the exit code. Thin, like web/.

What a command needs is imported when it runs: the server's master stays small.
"""
