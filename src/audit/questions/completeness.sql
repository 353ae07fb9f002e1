-- Share of the fields that apply which is recorded, in whole per cent of each record, counted by value.
select mode, month, cast(round(100.0 * fields_recorded / fields_asked) as integer) as percent, count(*) as n
from births
where fields_asked > 0
group by mode, month, cast(round(100.0 * fields_recorded / fields_asked) as integer)
order by mode, month, cast(round(100.0 * fields_recorded / fields_asked) as integer)
