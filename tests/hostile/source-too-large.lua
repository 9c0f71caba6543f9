-- A file of more than 64 KiB.
-- script: at most 65536
-- file
@7000<-- filling
>
