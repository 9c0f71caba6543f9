local x <close> = nil
goto on
::on::
return procedure { run = function() ask { ("%5.2f"):format(1 / 3), utf8.char(228), [[long]], 0x10p2, ~5 & 3, 7 // 2 } nothing() end }
